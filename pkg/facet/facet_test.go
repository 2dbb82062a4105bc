package facet_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/facet"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// worn is a facet that a test has ground.
type worn struct {
	tooth     dentition.ToothID
	at, n     r3.Vec
	area      float64
	flat      map[mesh.VertexID]bool // its vertices, where they are known
	recovered bool
}

func generate(t testing.TB, p typodont.Params) *typodont.Case {
	t.Helper()
	c, err := typodont.Generate(context.Background(), p)
	require.NoError(t, err)
	return c
}

// between is the angle between two directions in degrees.
func between(a, b r3.Vec) float64 {
	return math.Atan2(r3.Norm(r3.Cross(a, b)), r3.Dot(a, b)) * 180 / math.Pi
}

// is tells whether a found facet is this one: on the tooth, facing the same way,
// and most of it on its flat or, where that is not known, around its middle.
func (x *worn) is(f *facet.Facet) bool {
	if x.tooth != f.Tooth || between(x.n, f.Normal) >= 12 {
		return false
	}
	if x.flat == nil {
		return r3.Norm(r3.Sub(x.at, f.Centre)) < max(0.35, 0.5*math.Sqrt(x.area/math.Pi))
	}
	on := 0
	for _, v := range f.Vertices {
		if x.flat[v] {
			on++
		}
	}
	return 2*on > len(f.Vertices)
}

// wear grinds up to four caps off each tooth: 60 to 150 µm below a spot that
// stands out in a direction 5 to 45° from the tooth's axis. Caps do not touch.
func wear(t *testing.T, a typodont.Arch, rng *rand.Rand) ([]r3.Vec, []worn) {
	t.Helper()
	frames, err := anatomy.Frames(a.Mesh, a.Labels)
	require.NoError(t, err)
	verts := append([]r3.Vec(nil), a.Mesh.Vertices()...)
	next := make([][]int32, len(verts))
	for _, tri := range a.Mesh.Triangles() {
		for k, v := range tri {
			w := tri[(k+1)%3]
			next[v], next[w] = append(next[v], int32(w)), append(next[w], int32(v))
		}
	}
	byTooth := map[dentition.ToothID][]int32{}
	for v := range verts {
		l := a.Labels.Vertex(mesh.VertexID(v))
		byTooth[l] = append(byTooth[l], int32(v))
	}
	used := make([]bool, len(verts))
	var out []worn
	for _, f := range frames {
		made := 0
		for try := 0; try < 30 && made < 4; try++ {
			tilt, around := (5+40*rng.Float64())*math.Pi/180, 2*math.Pi*rng.Float64()
			n := r3.Sub(f.World(math.Sin(tilt)*math.Cos(around), math.Sin(tilt)*math.Sin(around), math.Cos(tilt)), f.Centre)
			depth := 0.06 + 0.09*rng.Float64()
			high := func(v int32) float64 { return r3.Dot(verts[v], n) }
			free := func(v int32) bool { return !used[v] && a.Labels.Vertex(mesh.VertexID(v)) == f.Tooth }
			var tops []int32
			for _, v := range byTooth[f.Tooth] {
				top := free(v)
				for _, w := range next[v] {
					top = top && high(w) <= high(v)
				}
				if top {
					tops = append(tops, v)
				}
			}
			if len(tops) == 0 {
				continue
			}
			top := tops[rng.IntN(len(tops))]
			level := high(top) - depth
			flat, in, alone := []int32{top}, map[int32]bool{top: true}, true
			for k := 0; k < len(flat); k++ {
				for _, w := range next[flat[k]] {
					alone = alone && free(w) && high(w) <= high(top)
					if !in[w] && high(w) > level {
						in[w] = true
						flat = append(flat, w)
					}
				}
			}
			if !alone {
				continue
			}
			for _, v := range flat {
				verts[v] = r3.Add(verts[v], r3.Scale(level-high(v), n))
				used[v] = true
				for _, w := range next[v] {
					used[w] = true
				}
			}
			x := worn{tooth: f.Tooth, n: n}
			for _, tri := range a.Mesh.Triangles() {
				if in[int32(tri[0])] && in[int32(tri[1])] && in[int32(tri[2])] {
					p, q, r := verts[tri[0]], verts[tri[1]], verts[tri[2]]
					w := r3.Norm(r3.Cross(r3.Sub(q, p), r3.Sub(r, p))) / 2
					x.area += w
					x.at = r3.Add(x.at, r3.Scale(w/3, r3.Add(p, r3.Add(q, r))))
				}
			}
			if x.area > 0 {
				x.at = r3.Scale(1/x.area, x.at)
				out = append(out, x)
				made++
			}
		}
	}
	return verts, out
}

// score is how many facets from a size on were there, found, and found rightly.
type score struct{ there, recovered, found, right int }

func (s *score) add(facets []facet.Facet, truth []worn) {
	const least = 0.4 // mm²
	for _, f := range facets {
		right := false
		for k := range truth {
			if x := &truth[k]; x.is(&f) {
				right, x.recovered = true, true
			}
		}
		if f.Area >= least {
			s.found++
			if right {
				s.right++
			}
		}
	}
	for _, x := range truth {
		if x.area >= least {
			s.there++
			if x.recovered {
				s.recovered++
			}
		}
	}
}

func (s score) recall() float64    { return float64(s.recovered) / float64(s.there) }
func (s score) precision() float64 { return float64(s.right) / float64(s.found) }

// ground is a synthetic dentition with facets on most teeth, ground into stops
// along all three movements.
func ground(t *testing.T, seed uint64, triangles int) *typodont.Case {
	rng := rand.New(rand.NewPCG(seed, 99))
	p := typodont.Params{Triangles: triangles, Seed: seed}
	for _, d := range []typodont.Disturbance{
		{Tooth: 44, Cusp: "buccal"}, {Tooth: 15, Cusp: "palatal"}, {Tooth: 46, Cusp: "distobuccal"},
		{Tooth: 17, Cusp: "mesiopalatal"}, {Tooth: 41, Cusp: "incisal"},
		{Tooth: 33, Cusp: "cusp"}, {Tooth: 34, Cusp: "buccal"}, {Tooth: 25, Cusp: "palatal"},
		{Tooth: 26, Cusp: "distopalatal"}, {Tooth: 37, Cusp: "mesiobuccal"},
	} {
		d.Kind, d.Movement, d.Um = typodont.Facet, []string{"right", "left", "protrusive"}[rng.IntN(3)], 80+20*float64(rng.IntN(6))
		p.Disturbances = append(p.Disturbances, d)
	}
	return generate(t, p)
}

// grounds lists the truth of one arch.
func grounds(c *typodont.Case, a typodont.Arch) (out []worn) {
	for _, f := range c.Truth.Facets {
		tooth := dentition.ToothID(f.Tooth)
		if tooth.Jaw() != a.Labels.Jaw() {
			continue
		}
		x := worn{tooth: tooth, n: f.Normal.Vec(), area: f.AreaMM2, flat: map[mesh.VertexID]bool{}}
		for v, p := range a.Mesh.Vertices() {
			d := r3.Sub(p, f.Point.Vec())
			if a.Labels.Vertex(mesh.VertexID(v)) == tooth && math.Abs(r3.Dot(d, x.n)) < 1e-4 && r3.Norm(d) < 2.05 {
				x.flat[mesh.VertexID(v)] = true
			}
		}
		out = append(out, x)
	}
	return out
}

// alone finds the facets of an arch that are sharp enough by themselves.
func alone(t *testing.T, m *mesh.Mesh, l *dentition.Labels) []facet.Facet {
	t.Helper()
	facets, err := facet.Find(context.Background(), m, l, facet.Options{Least: facet.FacetAlone})
	require.NoError(t, err)
	return facets
}

// Facets ground into the stops of the synthetic dentition along its movements, on
// cusps and in fossae, are found with a recall and a precision of 0.9 above 0.4
// mm², on meshes of edges from 0.4 to 0.23 mm. These dentitions were not looked at
// when the constants were set.
func TestFacetsGroundByMovements(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	for i, triangles := range []int{60000, 100000, 180000} {
		c := ground(t, uint64(31+i), triangles)
		var s score
		for _, a := range []typodont.Arch{c.Upper, c.Lower} {
			s.add(alone(t, a.Mesh, a.Labels), grounds(c, a))
		}
		t.Logf("%d triangles: recall %.2f precision %.2f of %d", triangles, s.recall(), s.precision(), s.there)
		require.GreaterOrEqual(t, s.there, 15)
		require.GreaterOrEqual(t, s.recall(), 0.9, triangles)
		require.GreaterOrEqual(t, s.precision(), 0.9, triangles)
	}
}

// Caps ground off cusps without regard to any movement, up to four a tooth, small
// and with rims of little more than 8°, are found as well. Unworn teeth have none.
func TestFacetsGroundAnywhere(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	c := generate(t, typodont.Params{Triangles: 180000, Seed: 5})
	var s score
	for _, a := range []typodont.Arch{c.Upper, c.Lower} {
		for _, f := range alone(t, a.Mesh, a.Labels) {
			require.Less(t, f.Area, 0.4, "%+v", f)
		}
		verts, truth := wear(t, a, rand.New(rand.NewPCG(1, 2)))
		m, err := mesh.New(verts, a.Mesh.Triangles())
		require.NoError(t, err)
		s.add(alone(t, m, a.Labels), truth)
	}
	t.Logf("recall %.2f precision %.2f of %d", s.recall(), s.precision(), s.there)
	require.GreaterOrEqual(t, s.there, 30)
	require.GreaterOrEqual(t, s.recall(), 0.9)
	require.GreaterOrEqual(t, s.precision(), 0.9)
}

// Findings do not depend on the number of goroutines; labels that do not fit and
// cancellation are errors.
func TestFacetsAreRepeatable(t *testing.T) {
	c := generate(t, typodont.Params{Triangles: 20000, Disturbances: []typodont.Disturbance{{Kind: typodont.FlatCanine}}})
	ctx, cancel := context.WithCancel(context.Background())
	one, err := facet.Find(ctx, c.Upper.Mesh, c.Upper.Labels, facet.Options{Least: facet.FacetAlone, Workers: 1})
	require.NoError(t, err)
	three, err := facet.Find(ctx, c.Upper.Mesh, c.Upper.Labels, facet.Options{Least: facet.FacetAlone, Workers: 3})
	require.NoError(t, err)
	require.Equal(t, one, three)
	_, err = facet.Find(ctx, c.Upper.Mesh, c.Lower.Labels, facet.Options{Least: facet.FacetAlone})
	require.ErrorIs(t, err, dentition.ErrLabelsCount)
	cancel()
	_, err = facet.Find(ctx, c.Upper.Mesh, c.Upper.Labels, facet.Options{Least: facet.FacetAlone})
	require.ErrorIs(t, err, context.Canceled)
}

func BenchmarkFacets(b *testing.B) {
	c := generate(b, typodont.Params{Triangles: 180000})
	b.ReportAllocs()
	for b.Loop() {
		for _, a := range []typodont.Arch{c.Upper, c.Lower} {
			if _, err := facet.Find(context.Background(), a.Mesh, a.Labels, facet.Options{Least: facet.FacetAlone}); err != nil {
				b.Fatal(err)
			}
		}
	}
}
