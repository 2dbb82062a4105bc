package index_test

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/bvh"
	"github.com/cusptrace/cusptrace/internal/surftree"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// below calls f with every corner below a reference.
func below(x *surftree.Tree, r bvh.Ref, f func(r3.Vec)) int {
	if !r.IsLeaf() {
		c := x.Boxes().Nodes[r].Child
		return below(x, c[0], f) + below(x, c[1], f)
	}
	first, n := r.Leaf()
	for pos := first; pos < first+n; pos++ {
		a, b, c := x.LeafCorners(pos)
		f(a)
		f(b)
		f(c)
	}
	return n
}

func TestPlatesBoundWhatIsBelow(t *testing.T) {
	ws := worlds()
	ws["half turned"], _ = testmesh.Join(testmesh.Sphere(2, 6), testmesh.Turned(testmesh.Sphere(2, 6))) // normals cancel
	for _, name := range sorted(ws) {
		t.Run(name, func(t *testing.T) {
			m := ws[name]
			x := (*surftree.Tree)(newIndex(t, m, nil))
			require.Len(t, x.Plates(), len(x.Boxes().Nodes))
			largest, useful := 0.0, 0
			for _, v := range m.Vertices() {
				largest = max(largest, math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z))
			}
			tol := 4 * 0x1p-52 * largest // of computing the height here
			for i := range x.Boxes().Nodes {
				nd := &x.Boxes().Nodes[i]
				for k := range 2 {
					p := x.Plates()[i][k]
					n := r3.Vec{X: float64(p.N[0]), Y: float64(p.N[1]), Z: float64(p.N[2])}
					require.InDelta(t, 1, r3.Norm(n), 1e-6)
					c := r3.Vec{X: float64(nd.Box[k].C[0]), Y: float64(nd.Box[k].C[1]), Z: float64(nd.Box[k].C[2])}
					count := below(x, nd.Child[k], func(q r3.Vec) {
						h := r3.Dot(n, r3.Sub(q, c))
						require.GreaterOrEqual(t, h, float64(p.Lo)-tol)
						require.LessOrEqual(t, h, float64(p.Hi)+tol)
						require.LessOrEqual(t, r3.Norm(r3.Sub(q, c)), float64(p.R)+tol)
					})
					if !math.IsInf(float64(p.R), 1) {
						useful++
						require.LessOrEqual(t, count, 256)
					}
				}
			}
			if name != "one place" && name != "half turned" && m.NumTriangles() > 10 {
				require.Positive(t, useful)
			}
		})
	}
}

// On a finely meshed sphere a plate is far thinner than the box: about r²/2R.
func TestPlatesOfASmoothSurfaceAreThin(t *testing.T) {
	x := (*surftree.Tree)(newIndex(t, testmesh.Sphere(3, 40), nil))
	thin, all := 0, 0
	for i := range x.Boxes().Nodes {
		for k := range 2 {
			if p := x.Plates()[i][k]; !math.IsInf(float64(p.R), 1) {
				all++
				if r := float64(p.R); float64(p.Hi-p.Lo) < 2.5*r*r/(2*3)+1e-3 {
					thin++
				}
			}
		}
	}
	require.Greater(t, all, 5000)
	require.Greater(t, float64(thin), 0.95*float64(all))
}

func TestRootPlateBoundsNothing(t *testing.T) {
	p := surftree.RootPlate()
	require.True(t, math.IsInf(float64(p.R), 1) && math.IsInf(float64(p.Hi), 1) && math.IsInf(float64(p.Lo), -1))
}
