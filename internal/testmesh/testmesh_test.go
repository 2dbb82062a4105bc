package testmesh

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func volumeAndArea(m *mesh.Mesh) (volume, area float64) {
	for i := range m.NumTriangles() {
		a, _, _ := m.Corners(mesh.TriID(i))
		n := m.AreaVector(mesh.TriID(i))
		area += r3.Norm(n)
		volume += r3.Dot(a, n) / 3
	}
	return volume, area
}

// Volumes are positive only where normals point outward.
func TestBodiesHaveTheirVolumeAndArea(t *testing.T) {
	for _, c := range []struct {
		name         string
		m            *mesh.Mesh
		volume, area float64
		tol          float64
	}{
		{"sphere", Sphere(2, 64), 4. / 3 * math.Pi * 8, 4 * math.Pi * 4, 1e-3},
		{"cylinder", Cylinder(2, 3, 256), math.Pi * 4 * 3, 2*math.Pi*2*3 + 2*math.Pi*4, 1e-3},
		{"box", Box(r3.Vec{X: 5, Y: -7, Z: 3}, r3.Vec{X: 1, Y: 2, Z: 0.5}, 3), 8, 2 * (8 + 2 + 4), 1e-12},
	} {
		v, a := volumeAndArea(c.m)
		require.InEpsilon(t, c.volume, v, c.tol, c.name)
		require.InEpsilon(t, c.area, a, c.tol, c.name)
		top := mesh.BuildTopology(c.m)
		for _, e := range top.Edges() {
			require.EqualValues(t, 2, e.Sides, c.name)
			require.Zero(t, e.SameWay, c.name)
		}
	}
}

func TestOpenSurfacesFaceUp(t *testing.T) {
	for name, m := range map[string]*mesh.Mesh{"plane": Plane(3, 4), "groove": Groove(0.7, 4, 3, 5), "cone": Cone(0.6, 2, 12)} {
		for i := range m.NumTriangles() {
			require.Positive(t, m.AreaVector(mesh.TriID(i)).Z, name)
		}
	}
}

func TestSphereIsInscribed(t *testing.T) {
	for _, n := range []int{1, 2, 3, 8, 33} {
		m := Sphere(1.5, n)
		require.Equal(t, 8*n*n, m.NumTriangles())
		require.Equal(t, 4*n*n+2, m.NumVertices())
		for _, v := range m.Vertices() {
			require.InDelta(t, 1.5, r3.Norm(v), 1e-15)
		}
	}
}

func TestArchNumbersItsBoxes(t *testing.T) {
	m, part := Arch(5, -4, 2)
	require.Len(t, part, m.NumTriangles())
	for i, p := range part {
		a, b, c := m.Corners(mesh.TriID(i))
		x := (a.X + b.X + c.X) / 3
		require.Equal(t, int32(math.Floor((x+30)/12))+1, p)
	}
	require.Zero(t, m.Bounds().Max.Z)
	require.Equal(t, -4.0, m.Bounds().Min.Z)
}

func TestTrianglesAreWhatTheyAreCalled(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 1000 {
		for k := range NumKinds {
			a := Triangle(rng, k)
			u, v, w := r3.Sub(a[1], a[0]), r3.Sub(a[2], a[0]), r3.Sub(a[2], a[1])
			longest := max(r3.Norm(u), r3.Norm(v), r3.Norm(w))
			height := r3.Norm(r3.Cross(u, v)) / longest
			switch k {
			case Needle:
				require.Less(t, r3.Norm(w), 2e-3)
			case Cap:
				require.Less(t, height, 2e-3)
			case Flat:
				require.Zero(t, a[0].Z+a[1].Z+a[2].Z)
			case Dot:
				require.Zero(t, longest)
			}
		}
	}
}
