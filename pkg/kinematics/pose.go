// Package kinematics moves the lower arch as the mandible moves: poses, the
// mounting of the casts in the articulator frame, condylar paths, excursions
// and the guidance that limits them. It knows nothing of surfaces.
//
// Lengths are millimetres, angles s1.Angle. The articulator frame is
// right-handed with x to the patient's left, y to posterior and z to superior
// (DICOM PS3.3 C.7.6.2.1.1); its origin is the middle of the hinge axis, which
// lies on x.
package kinematics

import (
	"errors"
	"fmt"
	"math"

	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// ErrNotRigid says that a matrix is not a rotation with a translation.
var ErrNotRigid = errors.New("matrix is not a rigid motion")

// Pose is a rigid motion p ↦ R·p + t. The zero Pose is the identity: the
// rotation is kept as R − I, which also keeps small rotations exact.
type Pose struct {
	d [3]r3.Vec // rows of R − I
	t r3.Vec
}

// ErrNotFinite says that a number is NaN or infinite.
var ErrNotFinite = errors.New("not a finite number")

// Validate says with an error wrapping [ErrNotFinite] that the pose holds a
// number that is not finite: it was made from one ([Translation], [Rotation] and
// [RotationX] take what they are given), or motions overflowed. Functions that
// return an error and take a pose refuse it in the same words.
func (p Pose) Validate() error {
	// x − x is 0 for finite numbers and NaN for others.
	sum := p.t.X - p.t.X + (p.t.Y - p.t.Y) + (p.t.Z - p.t.Z)
	for i := range p.d {
		r := &p.d[i]
		sum += r.X - r.X + (r.Y - r.Y) + (r.Z - r.Z)
	}
	if sum == 0 {
		return nil
	}
	return fmt.Errorf("pose: %w: it turns by %g rad and moves by (%g, %g, %g) mm", ErrNotFinite, p.Angle().Radians(), p.t.X, p.t.Y, p.t.Z)
}

// Translation is the pose that moves by t (mm).
func Translation(t r3.Vec) Pose { return Pose{t: t} }

// RotationX is the rotation about the x axis by a, which turns y towards z.
func RotationX(a s1.Angle) Pose {
	s, v := math.Sin(a.Radians()), versine(a.Radians())
	return Pose{d: [3]r3.Vec{{}, {Y: -v, Z: -s}, {Y: s, Z: -v}}}
}

// versine is 1 − cos a without cancellation.
func versine(a float64) float64 {
	h := math.Sin(a / 2)
	return 2 * h * h
}

// Rotation is the rotation by a about the line through the origin along axis,
// by the right-hand rule (Rodrigues' formula). A zero axis gives the identity.
func Rotation(axis r3.Vec, a s1.Angle) Pose {
	n := r3.Norm(axis)
	if n == 0 {
		return Pose{}
	}
	k := r3.Scale(1/n, axis)
	s, v := math.Sin(a.Radians()), versine(a.Radians())
	return Pose{d: [3]r3.Vec{
		{X: v * (k.X*k.X - 1), Y: v*k.X*k.Y - s*k.Z, Z: v*k.X*k.Z + s*k.Y},
		{X: v*k.Y*k.X + s*k.Z, Y: v * (k.Y*k.Y - 1), Z: v*k.Y*k.Z - s*k.X},
		{X: v*k.Z*k.X - s*k.Y, Y: v*k.Z*k.Y + s*k.X, Z: v * (k.Z*k.Z - 1)},
	}}
}

// rigidTolerance is how far an entry of RᵀR may be from that of the unit
// matrix: enough for matrices written with seven decimals.
const rigidTolerance = 1e-6

// FromMatrix reads a 4×4 row-major matrix. It must be rigid to within 1e-6 in
// every entry of RRᵀ, turn no side (determinant +1) and end in 0 0 0 1; else
// the error wraps [ErrNotRigid] and says what is off. What is off within that
// tolerance is taken out (the nearest rotation), since a Pose keeps distances;
// a matrix that is rigid to rounding stays as it is.
func FromMatrix(m [16]float64) (Pose, error) {
	for i, v := range m {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return Pose{}, fmt.Errorf("%w: entry %d is %g", ErrNotRigid, i, v)
		}
	}
	if m[12] != 0 || m[13] != 0 || m[14] != 0 || m[15] != 1 {
		return Pose{}, fmt.Errorf("%w: the last row is %g %g %g %g, not 0 0 0 1", ErrNotRigid, m[12], m[13], m[14], m[15])
	}
	r := [3]r3.Vec{{X: m[0], Y: m[1], Z: m[2]}, {X: m[4], Y: m[5], Z: m[6]}, {X: m[8], Y: m[9], Z: m[10]}}
	var off float64
	for i := range r {
		for j := range i + 1 {
			want := 0.0
			if i == j {
				want = 1
			}
			got := r3.Dot(r[i], r[j])
			if off = max(off, math.Abs(got-want)); !(off <= rigidTolerance) {
				return Pose{}, fmt.Errorf("%w: rows %d and %d have the product %g, not %g", ErrNotRigid, i+1, j+1, got, want)
			}
		}
	}
	if r3.Dot(r3.Cross(r[0], r[1]), r[2]) < 0 {
		return Pose{}, fmt.Errorf("%w: it mirrors (determinant −1)", ErrNotRigid)
	}
	p := Pose{
		d: [3]r3.Vec{{X: r[0].X - 1, Y: r[0].Y, Z: r[0].Z}, {X: r[1].X, Y: r[1].Y - 1, Z: r[1].Z}, {X: r[2].X, Y: r[2].Y, Z: r[2].Z - 1}},
		t: r3.Vec{X: m[3], Y: m[7], Z: m[11]},
	}
	if off > 1e-14 {
		p.straighten()
		p.straighten() // squares an error of at most 1e-6, twice
	}
	return p, nil
}

// straighten is a Newton-Schulz step R ← (3I − RRᵀ)·R/2 to the nearest
// rotation.
func (p *Pose) straighten() {
	d, c := p.d, p.transposed()
	for i := range d {
		// Row i of RRᵀ − I = D + Dᵀ + DDᵀ.
		e := r3.Add(r3.Add(d[i], c[i]), r3.Vec{X: r3.Dot(d[i], d[0]), Y: r3.Dot(d[i], d[1]), Z: r3.Dot(d[i], d[2])})
		// Row i of −(RRᵀ − I)·R/2.
		p.d[i] = r3.Sub(d[i], r3.Scale(0.5, r3.Add(e, r3.Vec{X: r3.Dot(e, c[0]), Y: r3.Dot(e, c[1]), Z: r3.Dot(e, c[2])})))
	}
}

// Matrix is the pose as a 4×4 row-major matrix.
func (p Pose) Matrix() [16]float64 {
	d := p.d
	return [16]float64{
		1 + d[0].X, d[0].Y, d[0].Z, p.t.X,
		d[1].X, 1 + d[1].Y, d[1].Z, p.t.Y,
		d[2].X, d[2].Y, 1 + d[2].Z, p.t.Z,
		0, 0, 0, 1,
	}
}

// Apply moves the point q.
func (p Pose) Apply(q r3.Vec) r3.Vec {
	return r3.Vec{
		X: q.X + (p.d[0].X*q.X + p.d[0].Y*q.Y + p.d[0].Z*q.Z) + p.t.X,
		Y: q.Y + (p.d[1].X*q.X + p.d[1].Y*q.Y + p.d[1].Z*q.Z) + p.t.Y,
		Z: q.Z + (p.d[2].X*q.X + p.d[2].Y*q.Y + p.d[2].Z*q.Z) + p.t.Z,
	}
}

// Rotate turns the direction q; the translation does not act.
func (p Pose) Rotate(q r3.Vec) r3.Vec {
	return r3.Vec{
		X: q.X + (p.d[0].X*q.X + p.d[0].Y*q.Y + p.d[0].Z*q.Z),
		Y: q.Y + (p.d[1].X*q.X + p.d[1].Y*q.Y + p.d[1].Z*q.Z),
		Z: q.Z + (p.d[2].X*q.X + p.d[2].Y*q.Y + p.d[2].Z*q.Z),
	}
}

// Then is the pose that applies p first and next after it.
func (p Pose) Then(next Pose) Pose {
	var out Pose
	col := p.transposed()
	for i, row := range next.d {
		out.d[i] = r3.Vec{
			X: p.d[i].X + row.X + r3.Dot(row, col[0]),
			Y: p.d[i].Y + row.Y + r3.Dot(row, col[1]),
			Z: p.d[i].Z + row.Z + r3.Dot(row, col[2]),
		}
	}
	out.t = next.Apply(p.t)
	return out
}

// Inverse is the pose that undoes p.
func (p Pose) Inverse() Pose {
	inv := Pose{d: p.transposed()}
	inv.t = r3.Scale(-1, inv.Rotate(p.t))
	return inv
}

func (p Pose) transposed() [3]r3.Vec {
	d := p.d
	return [3]r3.Vec{{X: d[0].X, Y: d[1].X, Z: d[2].X}, {X: d[0].Y, Y: d[1].Y, Z: d[2].Y}, {X: d[0].Z, Y: d[1].Z, Z: d[2].Z}}
}

// Offset is where the origin goes (mm).
func (p Pose) Offset() r3.Vec { return p.t }

// Angle is the angle of the rotation, 0 to π.
func (p Pose) Angle() s1.Angle {
	d := p.d
	axis := r3.Vec{X: d[2].Y - d[1].Z, Y: d[0].Z - d[2].X, Z: d[1].X - d[0].Y}
	return s1.Angle(math.Atan2(r3.Norm(axis), 2+d[0].X+d[1].Y+d[2].Z))
}
