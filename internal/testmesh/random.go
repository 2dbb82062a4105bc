package testmesh

import (
	"math"
	"math/rand/v2"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// Kind is a shape of triangles.
type Kind int

// The shapes that break code: needles have one short side, caps three long ones
// and hardly any height.
const (
	Plain    Kind = iota // corners anywhere within a size
	Needle               // one side 1e-3 to 1e-9 of the others
	Cap                  // height 1e-3 to 1e-9 of the longest side
	Lattice              // corners on small whole numbers: coplanar, shared and touching ones abound
	Flat                 // in z = 0, on a lattice
	Slanted              // in one tilted plane, up to rounding
	Segment              // collapsed to a segment, exactly
	Dot                  // collapsed to a point
	NumKinds             // the number of kinds
)

func (k Kind) String() string {
	return [...]string{"plain", "needle", "cap", "lattice", "flat", "slanted", "segment", "dot"}[k]
}

// Vec is a random vector with components within ±size.
func Vec(rng *rand.Rand, size float64) r3.Vec {
	c := func() float64 { return size * (2*rng.Float64() - 1) }
	return r3.Vec{X: c(), Y: c(), Z: c()}
}

// Unit is a random direction.
func Unit(rng *rand.Rand) r3.Vec {
	for {
		if v := Vec(rng, 1); r3.Norm(v) > 0.1 && r3.Norm(v) <= 1 {
			return r3.Unit(v)
		}
	}
}

// Pose is a random rigid motion with a shift within ±shift mm in each axis.
func Pose(rng *rand.Rand, shift float64) kinematics.Pose {
	return kinematics.Rotation(Unit(rng), s1.Angle(math.Pi*rng.Float64())).Then(kinematics.Translation(Vec(rng, shift)))
}

// Triangle is a random triangle of a shape; its size is about 1 mm and it lies
// within 2 mm of the origin.
func Triangle(rng *rand.Rand, k Kind) [3]r3.Vec {
	small := math.Pow(10, -3-6*rng.Float64())
	a, b, c := Vec(rng, 1), Vec(rng, 1), Vec(rng, 1)
	grid := func() float64 { return float64(rng.IntN(5))/2 - 1 }
	switch k {
	case Needle:
		c = r3.Add(b, Vec(rng, small))
	case Cap:
		c = r3.Add(r3.Add(a, r3.Scale(rng.Float64(), r3.Sub(b, a))), Vec(rng, small))
	case Lattice:
		for _, p := range []*r3.Vec{&a, &b, &c} {
			*p = r3.Vec{X: grid(), Y: grid(), Z: grid()}
		}
	case Flat:
		for _, p := range []*r3.Vec{&a, &b, &c} {
			*p = r3.Vec{X: grid(), Y: grid()}
		}
	case Slanted:
		for _, p := range []*r3.Vec{&a, &b, &c} {
			p.Z = 0.3*p.X - 0.7*p.Y + 0.1
		}
	case Segment:
		c = [3]r3.Vec{a, b, r3.Scale(0.5, r3.Add(a, b))}[rng.IntN(3)]
	case Dot:
		b, c = a, a
	}
	return [3]r3.Vec{a, b, c}
}

// Soup is n random triangles of the given kinds in turn, each of a size of
// about 1 mm, strewn over a cube with half side spread. Some of
// them share corners or sides with earlier ones and some are repeated.
func Soup(rng *rand.Rand, n int, spread float64, kinds ...Kind) *mesh.Mesh {
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for i := range n {
		t := Triangle(rng, kinds[i%len(kinds)])
		// Whole numbers keep what lies in one plane there.
		shift := Vec(rng, spread)
		shift = r3.Vec{X: math.Round(shift.X), Y: math.Round(shift.Y), Z: math.Round(shift.Z)}
		var ids [3]mesh.VertexID
		for k := range t {
			ids[k] = mesh.VertexID(len(verts))
			verts = append(verts, r3.Add(t[k], shift))
		}
		if len(tris) > 0 {
			old := tris[rng.IntN(len(tris))]
			switch rng.IntN(8) {
			case 0:
				ids[0] = old[rng.IntN(3)]
			case 1, 2:
				ids[0], ids[1] = old[1], old[0]
			case 3:
				ids = [3]mesh.VertexID{old[2], old[0], old[1]}
			}
		}
		tris = append(tris, ids)
	}
	return New(verts, tris)
}
