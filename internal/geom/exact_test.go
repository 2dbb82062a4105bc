package geom_test

import (
	"math"
	"math/big"

	"github.com/cusptrace/cusptrace/internal/geom"
	"gonum.org/v1/gonum/spatial/r3"
)

// exactVec is a point on a grid fine enough to hold every input coordinate of a
// test exactly, so that whole-number arithmetic decides without rounding.
type exactVec [3]*big.Int

// gridBits is the fineness of the grid: coordinates are multiples of
// 2^-gridBits. A coordinate of at least 2^-57 keeps all of its 53 bits; smaller
// ones occur in results only, which lose less than 1e-33.
const gridBits = 110

func exact(v r3.Vec) exactVec {
	var out exactVec
	for k, x := range [3]float64{v.X, v.Y, v.Z} {
		out[k], _ = new(big.Float).SetMantExp(big.NewFloat(x), gridBits).Int(nil)
	}
	return out
}

func (a exactVec) sub(b exactVec) (c exactVec) {
	for k := range c {
		c[k] = new(big.Int).Sub(a[k], b[k])
	}
	return c
}

func (a exactVec) dot(b exactVec) *big.Int {
	s, t := new(big.Int), new(big.Int)
	for k := range a {
		s.Add(s, t.Mul(a[k], b[k]))
	}
	return s
}

// exactDist is the distance of two convex pieces, given by their corners
// (points, segments or triangles), rounded once. Squared distance is a convex
// quadratic function of the barycentric coordinates of a pair of points, so its
// least value lies inside some pair of faces of the pieces, where it is the
// least over the faces' whole planes. All pairs of faces are solved by Cramer's
// rule in whole numbers, and the least solution within its faces counts.
func exactDist(p, q []r3.Vec) float64 {
	best := new(big.Rat).SetInt64(-1)
	for i := 1; i < 1<<len(p); i++ {
		for j := 1; j < 1<<len(q); j++ {
			if d := exactPlanes(pick(p, i), pick(q, j)); d != nil && (best.Sign() < 0 || d.Cmp(best) < 0) {
				best = d
			}
		}
	}
	f := new(big.Float).SetPrec(300).SetRat(best)
	f.Sqrt(f)
	f.SetMantExp(f, -gridBits)
	out, _ := f.Float64()
	return out
}

func pick(p []r3.Vec, mask int) (out []exactVec) {
	for k, v := range p {
		if mask>>k&1 == 1 {
			out = append(out, exact(v))
		}
	}
	return out
}

// exactPlanes is the squared distance of the planes (lines, points) through
// some corners in grid units, nil where its foot lies outside the corners or is not
// unique.
func exactPlanes(p, q []exactVec) *big.Rat {
	var dirs []exactVec
	for _, v := range p[1:] {
		dirs = append(dirs, v.sub(p[0]))
	}
	for _, v := range q[1:] {
		dirs = append(dirs, q[0].sub(v))
	}
	n := len(dirs)
	if n > 3 {
		return nil // two planes in space have no unique nearest pair
	}
	r := p[0].sub(q[0])
	gram := make([][]*big.Int, n)
	rhs := make([]*big.Int, n)
	for i := range n {
		for j := range n {
			gram[i] = append(gram[i], dirs[i].dot(dirs[j]))
		}
		rhs[i] = new(big.Int).Neg(dirs[i].dot(r))
	}
	det := determinant(gram)
	if det.Sign() == 0 {
		return nil
	}
	x := make([]*big.Int, n) // times det
	for k := range n {
		m := make([][]*big.Int, n)
		for i := range n {
			m[i] = append([]*big.Int(nil), gram[i]...)
			m[i][k] = rhs[i]
		}
		x[k] = determinant(m)
		if x[k].Sign() < 0 {
			return nil
		}
	}
	for _, part := range [][]*big.Int{x[:len(p)-1], x[len(p)-1:]} {
		sum := new(big.Int)
		for _, v := range part {
			sum.Add(sum, v)
		}
		if sum.Cmp(det) > 0 {
			return nil
		}
	}
	var foot exactVec
	for k := range foot {
		foot[k] = new(big.Int).Mul(r[k], det)
		for i := range n {
			foot[k].Add(foot[k], new(big.Int).Mul(x[i], dirs[i][k]))
		}
	}
	return new(big.Rat).SetFrac(foot.dot(foot), new(big.Int).Mul(det, det))
}

// determinant of a matrix of 0 to 3 rows; Gram determinants are not negative.
func determinant(m [][]*big.Int) *big.Int {
	if len(m) == 0 {
		return big.NewInt(1)
	}
	sum := new(big.Int)
	for k := range m {
		var minor [][]*big.Int
		for _, row := range m[1:] {
			minor = append(minor, append(append([]*big.Int(nil), row[:k]...), row[k+1:]...))
		}
		t := new(big.Int).Mul(m[0][k], determinant(minor))
		if k%2 == 1 {
			t.Neg(t)
		}
		sum.Add(sum, t)
	}
	return sum
}

// rounding is what a result may be off by, as the package promises.
func rounding(ts ...geom.Triangle) float64 {
	largest := 0.0
	for _, t := range ts {
		for _, v := range t {
			largest = max(largest, math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z))
		}
	}
	return 1e-11 * largest
}

// onGrid rounds a point to coordinates that the exact grid holds and float64
// sums keep: multiples of 2^-40.
func onGrid(v r3.Vec) r3.Vec {
	f := func(x float64) float64 { return math.Ldexp(math.Round(math.Ldexp(x, 40)), -40) }
	return r3.Vec{X: f(v.X), Y: f(v.Y), Z: f(v.Z)}
}
