package facet

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// dome is a crown with the surface z over a disc of the radius, on a lattice of
// the given step with some disorder.
func dome(radius, step float64, z func(x, y float64) float64) *skin {
	rng := rand.New(rand.NewPCG(7, 7))
	r := &anatomy.Relief{Frame: anatomy.Frame{Tooth: 46, Mesial: r3.Vec{X: 1}, Buccal: r3.Vec{Y: 1}, Occlusal: r3.Vec{Z: 1}}}
	number := map[[2]int]int32{}
	n := int(radius/step) + 1
	for j := -n; j <= n; j++ {
		for i := -n; i <= n; i++ {
			x := (float64(i) + float64(j&1)/2) * step
			y := float64(j) * step * math.Sqrt(3) / 2
			if math.Hypot(x, y) > radius {
				continue
			}
			x, y = x+(rng.Float64()-0.5)*step/3, y+(rng.Float64()-0.5)*step/3
			number[[2]int{i, j}] = int32(len(r.Points))
			r.IDs = append(r.IDs, mesh.VertexID(len(r.Points)))
			r.Points = append(r.Points, r3.Vec{X: x, Y: y, Z: z(x, y)})
		}
	}
	add := func(a, b, c [2]int) {
		va, ok1 := number[a]
		vb, ok2 := number[b]
		vc, ok3 := number[c]
		if ok1 && ok2 && ok3 {
			r.Triangles = append(r.Triangles, [3]int32{va, vb, vc})
		}
	}
	for j := -n; j < n; j++ {
		for i := -n; i < n; i++ {
			o := j & 1
			add([2]int{i, j}, [2]int{i + 1, j}, [2]int{i + o, j + 1})
			add([2]int{i + 1, j}, [2]int{i + o + 1, j + 1}, [2]int{i + o, j + 1})
		}
	}
	r.Next, r.Border = make([][]int32, len(r.Points)), make([]bool, len(r.Points))
	sides := map[[2]int32]int{}
	for _, t := range r.Triangles {
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			sides[[2]int32{min(a, b), max(a, b)}]++
			for _, e := range [][2]int32{{a, b}, {b, a}} {
				found := false
				for _, w := range r.Next[e[0]] {
					found = found || w == e[1]
				}
				if !found {
					r.Next[e[0]] = append(r.Next[e[0]], e[1])
				}
			}
		}
	}
	for e, n := range sides {
		if n == 1 {
			r.Border[e[0]], r.Border[e[1]] = true, true
		}
	}
	return newSkin(r)
}

// sphere is a cap of a sphere of radius rho that goes on as a cone where it
// would become steeper than 60°.
func sphere(rho float64) func(x, y float64) float64 {
	return func(x, y float64) float64 {
		r, edge := math.Hypot(x, y), rho*math.Sin(math.Pi/3)
		if r <= edge {
			return math.Sqrt(rho*rho-r*r) - rho
		}
		return -rho/2 - (r-edge)*math.Sqrt(3)
	}
}

// Smooth surfaces have no facets, convex, concave or both, with or without scan
// noise: cusps from 1 to 6 mm of radius, a saddle, a ridge, a bowl, a groove, a
// slope that bends over and a plane without an edge.
func TestSmoothSurfacesHaveNoFacets(t *testing.T) {
	shapes := map[string]func(x, y float64) float64{
		"saddle": func(x, y float64) float64 { return (x*x - y*y) / 4 },
		"ridge":  func(x, y float64) float64 { return sphere(1.5)(0, y) },
		"bowl":   func(x, y float64) float64 { return -sphere(3)(x, y) },
		"groove": func(x, y float64) float64 { return 0.5 * math.Hypot(y, 0.3) },
		"slope":  func(x, y float64) float64 { return -0.6*x - 0.15*x*x - 0.05*y*y },
		"plane":  func(x, y float64) float64 { return 0.3*x + 0.2*y },
	}
	for _, rho := range []float64{1, 1.5, 2, 3, 4, 6} {
		shapes["sphere of "+s1.Angle(rho).String()] = sphere(rho)
	}
	for name, z := range shapes {
		for _, step := range []float64{0.15, 0.25, 0.35} {
			require.Empty(t, dome(3.5, step, z).facets(FacetAlone), "%s, edges of %g mm", name, step)
		}
	}
}

// In closed form: a flat of diameter d on a sphere of radius ρ has the area πd²/4
// and lies ρ − √(ρ² − d²/4) below the top.
func TestFacetOnSphere(t *testing.T) {
	for _, c := range []struct{ rho, d, depth, area float64 }{
		{2, 1, 0.063508, 0.785398}, {2, 2, 0.267949, 3.141593}, {3, 2, 0.171573, 3.141593},
	} {
		for _, tilt := range []float64{0, 20} {
			sin, cos := math.Sincos(tilt * math.Pi / 180)
			n := r3.Vec{X: sin, Z: cos}
			level := c.rho - c.depth // of the flat along n, from the sphere's centre
			round := sphere(c.rho)
			s := dome(3, 0.1, func(x, y float64) float64 {
				return min(round(x, y), (level-x*sin)/cos-c.rho)
			})
			got := s.facets(FacetAlone)
			require.Len(t, got, 1, "%+v tilted by %g°", c, tilt)
			f := got[0]
			t.Logf("area %.3f of %.3f, rms %.1f µm", f.Area, c.area, 1000*f.RMS)
			require.InEpsilon(t, c.area, f.Area, 0.2)
			require.Less(t, math.Acos(min(1, r3.Dot(f.Normal, n)))*180/math.Pi, 1.0)
			require.InDelta(t, level, r3.Dot(r3.Add(f.Centre, r3.Vec{Z: c.rho}), n), 0.003)
			require.Less(t, f.RMS, 0.005)
			require.Less(t, r3.Norm(r3.Sub(f.Centre, r3.Sub(r3.Scale(level, n), r3.Vec{Z: c.rho}))), 0.1)
			require.Greater(t, f.RimShare, 0.9)
		}
	}
}

// Moving and turning a crown moves its facets with it; mirrored crowns, whose
// tooth frames are left-handed, have mirrored facets.
func TestFacetsMoveWithTheCrown(t *testing.T) {
	flat := func(x, y float64) float64 { return min(sphere(2)(x, y), -0.1) }
	a := dome(3, 0.2, flat)
	b := dome(3, 0.2, flat)
	b.Frame.Buccal = r3.Scale(-1, b.Frame.Buccal)
	b.Frame.Centre = r3.Vec{X: 5, Y: 1, Z: 2}
	for i, t := range b.Triangles {
		b.Triangles[i] = [3]int32{t[0], t[2], t[1]}
	}
	b = newSkin(b.Relief)
	fa, fb := a.facets(FacetAlone), b.facets(FacetAlone)
	require.Len(t, fa, 1)
	require.Len(t, fb, 1)
	require.Equal(t, fa[0].Vertices, fb[0].Vertices)
	require.InDelta(t, fa[0].Area, fb[0].Area, 1e-12)
	require.Less(t, r3.Norm(r3.Sub(fb[0].Centre, r3.Vec{X: 5 + fa[0].Centre.X, Y: 1 - fa[0].Centre.Y, Z: 2 + fa[0].Centre.Z})), 1e-12)
	require.InDelta(t, -fa[0].Normal.Y, fb[0].Normal.Y, 1e-12)
}
