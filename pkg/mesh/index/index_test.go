package index_test

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/stretchr/testify/require"
	"github.com/unixpickle/model3d/model3d"
	"gonum.org/v1/gonum/spatial/r3"
)

func newIndex(t testing.TB, m *mesh.Mesh, parts []int32) *index.Index {
	t.Helper()
	x, err := index.New(context.Background(), m, parts, index.Options{})
	require.NoError(t, err)
	require.NoError(t, x.CheckInvariants())
	return x
}

// nearestBrute tries every triangle of a part (-1: all) in order.
func nearestBrute(m *mesh.Mesh, parts []int32, part int, p r3.Vec, limit float64) (index.Hit, bool) {
	best, least := index.Hit{Tri: mesh.None, Dist: math.Inf(1)}, math.Inf(1)
	for i := range m.NumTriangles() {
		if part >= 0 && int(parts[i]) != part {
			continue
		}
		a, b, c := m.Corners(mesh.TriID(i))
		q := geom.PointTriangle(p, a, b, c)
		if sq := geom.DistSq(p, q); sq < least {
			least, best = sq, index.Hit{Tri: mesh.TriID(i), Point: q, Dist: math.Sqrt(sq)}
		}
	}
	return best, best.Tri != mesh.None && best.Dist <= limit
}

func withinBrute(m *mesh.Mesh, p r3.Vec, limit float64) (out []index.Hit) {
	for i := range m.NumTriangles() {
		a, b, c := m.Corners(mesh.TriID(i))
		q := geom.PointTriangle(p, a, b, c)
		if d := math.Sqrt(geom.DistSq(p, q)); d <= limit {
			out = append(out, index.Hit{Tri: mesh.TriID(i), Point: q, Dist: d})
		}
	}
	return out
}

func rayBrute(m *mesh.Mesh, o, d r3.Vec, limit float64) (index.Hit, bool) {
	best := index.Hit{Tri: mesh.None, Dist: math.Inf(1)}
	for i := range m.NumTriangles() {
		a, b, c := m.Corners(mesh.TriID(i))
		if t, ok := geom.RayTriangle(o, d, a, b, c); ok && t <= limit && (t < best.Dist || best.Tri == mesh.None) {
			best = index.Hit{Tri: mesh.TriID(i), Dist: t}
		}
	}
	return best, best.Tri != mesh.None
}

// worlds are meshes of many shapes and sizes, each a function of its name.
func worlds() map[string]*mesh.Mesh {
	rng := rand.New(rand.NewPCG(31, 1))
	arch, _ := testmesh.Arch(9, -6, 3)
	out := map[string]*mesh.Mesh{
		"sphere":   testmesh.Sphere(3, 12),
		"plane":    testmesh.Plane(6, 12),
		"groove":   testmesh.Groove(0.7, 6, 6, 8),
		"arch":     arch,
		"far away": testmesh.Shifted(testmesh.Sphere(3, 8), r3.Vec{X: 1e5, Y: -3e5, Z: 2e5}),
		"soup":     testmesh.Soup(rng, 500, 3, testmesh.Plain),
		"ugly soup": testmesh.Soup(rng, 500, 3, testmesh.Needle, testmesh.Cap, testmesh.Segment,
			testmesh.Dot, testmesh.Lattice),
		"layers":    testmesh.Soup(rng, 400, 0, testmesh.Flat, testmesh.Slanted),
		"one place": testmesh.Soup(rng, 60, 0, testmesh.Dot),
	}
	for n, name := range []string{"empty", "one", "two", "three", "four", "five"} {
		out[name] = testmesh.Soup(rng, n, 1, testmesh.Plain)
	}
	return out
}

func sorted(m map[string]*mesh.Mesh) (names []string) {
	for k := range m {
		names = append(names, k)
	}
	slices.Sort(names)
	return names
}

// queries are points on, near and far from the mesh: corners (where many
// triangles tie), middles of sides, and random ones.
func queries(m *mesh.Mesh, rng *rand.Rand, n int) (out []r3.Vec) {
	box := m.Bounds()
	if box.Empty() {
		return []r3.Vec{{}, {X: 1}}
	}
	c, size := box.Center(), r3.Norm(box.Size())
	for i := range n {
		switch i % 6 {
		case 0:
			out = append(out, m.Vertex(mesh.VertexID(rng.IntN(m.NumVertices()))))
		case 1:
			a, b, _ := m.Corners(mesh.TriID(rng.IntN(m.NumTriangles())))
			out = append(out, r3.Scale(0.5, r3.Add(a, b)))
		case 2:
			v := m.Vertex(mesh.VertexID(rng.IntN(m.NumVertices())))
			out = append(out, r3.Add(v, testmesh.Vec(rng, 0.1)))
		case 3:
			out = append(out, r3.Add(c, testmesh.Vec(rng, size)))
		case 4: // symmetric to the mesh, for ties
			out = append(out, r3.Add(c, r3.Vec{Z: math.Round(4 * rng.Float64())}))
		case 5:
			out = append(out, r3.Add(c, testmesh.Vec(rng, 100*(size+1))))
		}
	}
	return out
}

func TestNearestAndWithinAgainstBruteForce(t *testing.T) {
	ws := worlds()
	for _, name := range sorted(ws) {
		t.Run(name, func(t *testing.T) {
			m := ws[name]
			rng := rand.New(rand.NewPCG(31, 2))
			parts := make([]int32, m.NumTriangles())
			for i := range parts {
				parts[i] = int32(rng.IntN(4)) * 2 // odd numbers are empty
			}
			whole, divided := newIndex(t, m, nil), newIndex(t, m, parts)
			var hits []index.Hit
			for i, p := range queries(m, rng, 300) {
				want, any := nearestBrute(m, parts, -1, p, math.Inf(1))
				for _, limit := range []float64{math.Inf(1), want.Dist, 0, 0.3, math.Nextafter(want.Dist, 0)} {
					w, wok := want, any && want.Dist <= limit
					for _, x := range []*index.Index{whole, divided} {
						got, ok := x.Nearest(p, limit)
						require.Equal(t, wok, ok, "query %d, %v from the mesh, limit %v", i, want.Dist, limit)
						if ok {
							require.Equal(t, w, got, "query %d, limit %v", i, limit)
						} else {
							require.Equal(t, mesh.None, got.Tri)
						}
					}
				}
				for part := range 8 {
					w, wok := nearestBrute(m, parts, part, p, 2)
					got, ok := divided.NearestInPart(part, p, 2)
					require.Equal(t, wok, ok)
					if ok {
						require.Equal(t, w, got, "query %d in part %d", i, part)
					}
				}
				for _, limit := range []float64{0, 0.2, want.Dist} {
					if math.IsInf(limit, 1) {
						continue
					}
					hits = whole.AppendWithin(hits[:0], p, limit)
					again := whole.AppendWithin(nil, p, limit)
					require.ElementsMatch(t, hits, again)
					slices.SortFunc(hits, func(a, b index.Hit) int { return cmp.Compare(a.Tri, b.Tri) })
					if w := withinBrute(m, p, limit); len(w)+len(hits) > 0 {
						require.Equal(t, w, hits, "query %d within %v", i, limit)
					}
				}
			}
		})
	}
}

func TestRayAgainstBruteForce(t *testing.T) {
	ws := worlds()
	for _, name := range sorted(ws) {
		t.Run(name, func(t *testing.T) {
			m := ws[name]
			rng := rand.New(rand.NewPCG(32, 1))
			x := newIndex(t, m, nil)
			met := 0
			at := queries(m, rng, 400)
			for i, p := range at {
				o := r3.Add(p, testmesh.Vec(rng, 3))
				d := r3.Sub(p, o)
				switch i % 5 {
				case 1: // along the axes, where reciprocals are infinite
					o = p
					d = [6]r3.Vec{{X: 1}, {X: -1}, {Y: 2}, {Y: -1}, {Z: 1}, {Z: -3}}[rng.IntN(6)]
					o = r3.Sub(o, r3.Scale(2, d))
				case 2: // at another point of the mesh
					d = r3.Sub(at[rng.IntN(len(at))], o)
				case 3:
					d = testmesh.Unit(rng)
				}
				want, any := rayBrute(m, o, d, math.Inf(1))
				for _, limit := range []float64{math.Inf(1), want.Dist, 0.5, 0} {
					got, ok := x.Ray(o, d, limit)
					require.Equal(t, any && want.Dist <= limit, ok, "ray %d, met at %v, limit %v", i, want.Dist, limit)
					if !ok {
						require.Equal(t, mesh.None, got.Tri)
						continue
					}
					met++
					require.Equal(t, want.Tri, got.Tri, "ray %d", i)
					require.Equal(t, want.Dist, got.Dist)
					require.Equal(t, r3.Add(o, r3.Scale(got.Dist, d)), got.Point)
				}
			}
			if m.NumTriangles() > 10 && name != "one place" && met < 50 {
				t.Errorf("only %d rays met anything", met)
			}
		})
	}
}

// model3d knows nothing of this module. It compares in another order, so ties may
// name other triangles.
func TestNearestAndRayAgainstModel3D(t *testing.T) {
	ws := worlds()
	for _, name := range []string{"sphere", "plane", "groove", "arch", "soup"} {
		m := ws[name]
		x := newIndex(t, m, nil)
		ref := toModel3D(m)
		sdf, collider := model3d.MeshToSDF(ref), model3d.MeshToCollider(ref)
		rng := rand.New(rand.NewPCG(33, 1))
		met := 0
		for i, p := range queries(m, rng, 600) {
			got, ok := x.Nearest(p, math.Inf(1))
			require.True(t, ok)
			at, d := sdf.PointSDF(model3d.XYZ(p.X, p.Y, p.Z))
			tol := 1e-9 * (1 + got.Dist)
			require.InDelta(t, math.Abs(d), got.Dist, tol, "%s, query %d", name, i)
			require.InDelta(t, got.Dist, r3.Norm(r3.Sub(p, got.Point)), tol)
			if r3.Norm(r3.Sub(got.Point, r3.Vec{X: at.X, Y: at.Y, Z: at.Z})) > 1e-5 {
				// Another nearest point must be as near.
				require.InDelta(t, got.Dist, r3.Norm(r3.Sub(p, r3.Vec{X: at.X, Y: at.Y, Z: at.Z})), tol)
			}
			dir := testmesh.Unit(rng)
			ray := &model3d.Ray{Origin: model3d.XYZ(p.X, p.Y, p.Z), Direction: model3d.XYZ(dir.X, dir.Y, dir.Z)}
			if i%6 < 2 {
				continue // begins on the surface
			}
			want, wok := collider.FirstRayCollision(ray)
			hit, ok := x.Ray(p, dir, math.Inf(1))
			require.Equal(t, wok, ok, "%s, ray %d", name, i)
			if ok {
				met++
				require.InDelta(t, want.Scale, hit.Dist, 1e-9*(1+want.Scale), "%s, ray %d", name, i)
			}
		}
		require.Greater(t, met, 30, name)
	}
}

func toModel3D(m *mesh.Mesh) *model3d.Mesh {
	var tris []*model3d.Triangle
	for i := range m.NumTriangles() {
		a, b, c := m.Corners(mesh.TriID(i))
		tris = append(tris, &model3d.Triangle{model3d.XYZ(a.X, a.Y, a.Z), model3d.XYZ(b.X, b.Y, b.Z), model3d.XYZ(c.X, c.Y, c.Z)})
	}
	return model3d.NewMeshTriangles(tris)
}

func TestQueriesOfNothing(t *testing.T) {
	nan := math.NaN()
	for _, m := range []*mesh.Mesh{{}, testmesh.Sphere(1, 2)} {
		x := newIndex(t, m, nil)
		for _, limit := range []float64{nan, -1, math.Inf(-1)} {
			_, ok := x.Nearest(r3.Vec{}, limit)
			require.False(t, ok)
			_, ok = x.Ray(r3.Vec{}, r3.Vec{X: 1}, limit)
			require.False(t, ok)
			require.Empty(t, x.AppendWithin(nil, r3.Vec{}, limit))
		}
		_, ok := x.Nearest(r3.Vec{X: nan}, math.Inf(1))
		require.False(t, ok)
		require.Empty(t, x.AppendWithin(nil, r3.Vec{Y: nan}, 1))
		_, ok = x.Ray(r3.Vec{}, r3.Vec{}, math.Inf(1))
		require.False(t, ok, "a ray without a direction")
		_, ok = x.Ray(r3.Vec{X: nan}, r3.Vec{X: 1}, math.Inf(1))
		require.False(t, ok)
		for _, part := range []int{-1, 1, 1000} {
			_, ok := x.NearestInPart(part, r3.Vec{}, math.Inf(1))
			require.False(t, ok)
		}
	}
	require.Len(t, newIndex(t, testmesh.Sphere(1, 2), nil).AppendWithin(nil, r3.Vec{}, math.Inf(1)), 32)
}

func TestIndexRefusesBadParts(t *testing.T) {
	m := testmesh.Sphere(1, 1)
	for _, c := range []struct {
		parts []int32
		want  string
	}{
		{[]int32{0}, "1 part numbers for 8 triangles"},
		{[]int32{0, 0, -2, 0, 0, 0, 0, 0}, "triangle 2 has the part number -2"},
		{[]int32{0, 0, 0, 0, 0, 0, 0, 255}, "triangle 7 has the part number 255, which is neither in 0…254 nor -1 for none"},
	} {
		_, err := index.New(context.Background(), m, c.parts, index.Options{})
		require.ErrorContains(t, err, c.want)
	}
	_, err := index.New(t.Context(), nil, nil, index.Options{})
	require.EqualError(t, err, "index: the mesh is nil")
}

// What belongs to no part is found by queries of the whole only.
func TestNoPart(t *testing.T) {
	m := testmesh.Sphere(1, 1)
	x := newIndex(t, m, []int32{3, 3, 3, 3, index.NoPart, index.NoPart, index.NoPart, index.NoPart})
	hits := map[bool]int{}
	for tri := range m.NumTriangles() {
		a, b, c := m.Corners(mesh.TriID(tri))
		p := r3.Scale(0.5, r3.Add(a, r3.Add(b, c)))
		h, ok := x.Nearest(p, math.Inf(1))
		require.True(t, ok)
		require.Equal(t, mesh.TriID(tri), h.Tri)
		h, ok = x.NearestInPart(3, p, math.Inf(1))
		require.True(t, ok)
		require.Less(t, h.Tri, mesh.TriID(4))
		hits[h.Tri == mesh.TriID(tri)]++
		_, ok = x.NearestInPart(int(index.NoPart), p, math.Inf(1))
		require.False(t, ok)
	}
	require.Equal(t, map[bool]int{true: 4, false: 4}, hits)
}

// A canceled build ends early and says so; it leaves nothing behind.
func TestNewHonoursItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	x, err := index.New(ctx, testmesh.Wavy(200), nil, index.Options{})
	require.ErrorIs(t, err, context.Canceled)
	require.Nil(t, x)
}

func TestQueriesAllocateNothing(t *testing.T) {
	m := testmesh.Sphere(3, 20)
	x := newIndex(t, m, nil)
	buf := make([]index.Hit, 0, m.NumTriangles())
	p, d := r3.Vec{X: 2, Y: 1, Z: 0.3}, r3.Vec{X: 1, Y: 0.2, Z: -0.3}
	require.Zero(t, testing.AllocsPerRun(100, func() { x.Nearest(p, math.Inf(1)) }))
	require.Zero(t, testing.AllocsPerRun(100, func() { x.NearestInPart(0, p, 1) }))
	require.Zero(t, testing.AllocsPerRun(100, func() { x.Ray(p, d, math.Inf(1)) }))
	require.Zero(t, testing.AllocsPerRun(100, func() { x.AppendWithin(buf, p, 1) }))
	require.NotEmpty(t, x.AppendWithin(buf, p, 1))
}

func TestIndexOnAnyCores(t *testing.T) {
	m := testmesh.Sphere(3, 80) // 51200 triangles: large enough to be built on several cores
	var trees []any
	for _, workers := range []int{0, 1, 2, 5} {
		x, err := index.New(t.Context(), m, nil, index.Options{Workers: workers})
		require.NoError(t, err)
		trees = append(trees, x)
	}
	for _, other := range trees[1:] {
		require.Equal(t, trees[0], other)
	}
}

// Renumbering triangles renumbers answers and changes nothing else.
func TestNumbersOfTrianglesDoNotMatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(34, 1))
	m := testmesh.Soup(rng, 300, 3, testmesh.Plain)
	perm := rng.Perm(m.NumTriangles())
	tris := make([][3]mesh.VertexID, len(perm))
	for i, j := range perm {
		tris[j] = m.Triangle(mesh.TriID(i))
	}
	other, err := mesh.New(m.Vertices(), tris)
	require.NoError(t, err)
	x, y := newIndex(t, m, nil), newIndex(t, other, nil)
	for range 500 {
		p := testmesh.Vec(rng, 4)
		a, _ := x.Nearest(p, math.Inf(1))
		b, _ := y.Nearest(p, math.Inf(1))
		require.Equal(t, a.Dist, b.Dist)
		if x.AppendWithin(nil, p, a.Dist); len(x.AppendWithin(nil, p, a.Dist)) == 1 {
			require.EqualValues(t, perm[a.Tri], b.Tri)
		}
	}
}

// realArch is a real scan, moved to the middle of its jaw; the test is skipped
// where it is missing.
func realArch(t testing.TB, jaw string) *mesh.Mesh {
	path := filepath.Join("..", "..", "..", "..", "shared", "data", "adult-cbct", jaw+".stl")
	if _, err := os.Stat(path); err != nil {
		t.Skipf("real scans not at hand: %v", err)
	}
	raw, err := meshfile.ReadFile(path, meshfile.ReadOptions{Unit: mesh.Millimetre})
	require.NoError(t, err)
	m, _ := mesh.Weld(raw, 0)
	return m
}

func TestIndexOfARealArch(t *testing.T) {
	up, lo := realArch(t, "upper"), realArch(t, "lower")
	x := newIndex(t, up, nil)
	rng := rand.New(rand.NewPCG(35, 1))
	for range 20 {
		p := lo.Vertex(mesh.VertexID(rng.IntN(lo.NumVertices())))
		want, _ := nearestBrute(up, nil, -1, p, math.Inf(1))
		got, ok := x.Nearest(p, math.Inf(1))
		require.True(t, ok)
		require.Equal(t, want, got)
	}
}

var sink float64

func BenchmarkIndexBuild(b *testing.B) {
	b.Run("arch180k", func(b *testing.B) {
		m := realArch(b, "upper")
		var before, after runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&before)
		x, err := index.New(context.Background(), m, nil, index.Options{})
		require.NoError(b, err)
		runtime.GC()
		runtime.ReadMemStats(&after)
		held := float64(after.HeapAlloc-before.HeapAlloc) / float64(m.NumTriangles())
		runtime.KeepAlive(x)
		b.ReportAllocs()
		for b.Loop() {
			x, err := index.New(context.Background(), m, nil, index.Options{})
			require.NoError(b, err)
			sink = float64(x.Mesh().NumTriangles())
		}
		b.ReportMetric(held, "bytes/triangle")
	})
}

// The queries are the lower vertices within 5 mm of the upper arch.
func BenchmarkIndexNearest(b *testing.B) {
	x := newIndex(b, realArch(b, "upper"), nil)
	var inOrder []r3.Vec
	for _, v := range realArch(b, "lower").Vertices() {
		if _, ok := x.Nearest(v, 5); ok {
			inOrder = append(inOrder, v)
		}
	}
	require.Greater(b, len(inOrder), 10000)
	shuffled := slices.Clone(inOrder)
	rand.New(rand.NewPCG(36, 1)).Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
	for name, q := range map[string][]r3.Vec{"arch180k/meshOrder": inOrder, "arch180k/randomOrder": shuffled} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			i := 0
			for b.Loop() {
				h, _ := x.Nearest(q[i], math.Inf(1))
				sink += h.Dist
				if i++; i == len(q) {
					i = 0
				}
			}
			b.ReportMetric(1e9/(float64(b.Elapsed().Nanoseconds())/float64(b.N)), "queries/s")
		})
	}
	b.Run("arch180k/brute", func(b *testing.B) {
		i := 0
		for b.Loop() {
			h, _ := nearestBrute(x.Mesh(), nil, -1, shuffled[i%len(shuffled)], math.Inf(1))
			sink += h.Dist
			i++
		}
	})
}

func BenchmarkIndexRay(b *testing.B) {
	up := realArch(b, "upper")
	x := newIndex(b, up, nil)
	lo := realArch(b, "lower").Vertices()
	b.Run("arch180k/up", func(b *testing.B) {
		b.ReportAllocs()
		i := 0
		for b.Loop() {
			h, _ := x.Ray(lo[i], r3.Vec{Z: 1}, math.Inf(1))
			sink += h.Dist
			if i++; i == len(lo) {
				i = 0
			}
		}
	})
}
