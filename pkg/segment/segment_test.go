package segment

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/cusptrace/cusptrace/internal/realcase"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// right is the share of vertices with the right label.
func right(got, want *dentition.Labels) float64 {
	n := 0
	for v := range mesh.VertexID(want.NumVertices()) {
		if got.Vertex(v) == want.Vertex(v) {
			n++
		}
	}
	return float64(n) / float64(want.NumVertices())
}

// The real case's labels are kept from the code under test. They leave the webs
// between touching teeth to no tooth.
func TestSegmentRealCase(t *testing.T) {
	for _, jaw := range []dentition.Jaw{dentition.Upper, dentition.Lower} {
		m, want := realcase.Arch(t, jaw)
		got, err := Find(context.Background(), m, jaw, Options{})
		require.NoError(t, err)
		require.Equal(t, want.Teeth(), got.Labels.Teeth())
		require.Greater(t, right(got.Labels, want), 0.95, "%v", jaw)
		for _, f := range got.Teeth {
			require.Greater(t, f.Confidence, 0.5, "%v", f.Tooth)
			require.Less(t, f.Confidence, 1.0, "%v", f.Tooth)
		}
	}
}

// Without gingiva the crowns of the real case are as many loose parts. Cutting leaves the
// labels' rims without a triangle inside one tooth to no tooth.
func TestSegmentLooseCrownsOfRealCase(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	for _, jaw := range []dentition.Jaw{dentition.Upper, dentition.Lower} {
		m, all := realcase.Arch(t, jaw)
		number := map[mesh.VertexID]mesh.VertexID{}
		var verts []r3.Vec
		var codes []dentition.ToothID
		var tris [][3]mesh.VertexID
		for _, c := range m.All() {
			if all.Vertex(c[0]) == dentition.NoTooth {
				continue
			}
			for k, v := range c {
				id, ok := number[v]
				if !ok {
					id = mesh.VertexID(len(verts))
					number[v] = id
					verts, codes = append(verts, m.Vertex(v)), append(codes, all.Vertex(v))
				}
				c[k] = id
			}
			tris = append(tris, c)
		}
		crowns, err := mesh.New(verts, tris)
		require.NoError(t, err)
		want, err := dentition.NewLabels(jaw, codes)
		require.NoError(t, err)
		got, err := Find(context.Background(), crowns, jaw, Options{})
		require.NoError(t, err)
		require.Equal(t, want.Teeth(), got.Labels.Teeth())
		require.Greater(t, right(got.Labels, want), 0.95, "%v", jaw)
	}
}

// The result is that of the shape, wherever the scan lies, and the same on any
// number of cores.
func TestSegmentRealCaseMoved(t *testing.T) {
	m, _ := realcase.Arch(t, dentition.Lower)
	want, err := Find(context.Background(), m, dentition.Lower, Options{})
	require.NoError(t, err)
	turn := r3.NewRotation(2.3, r3.Vec{X: -1, Y: 0.4, Z: 2})
	moved, err := m.Transform(func(p r3.Vec) r3.Vec { return r3.Add(turn.Rotate(p), r3.Vec{X: -80, Y: 40, Z: 200}) })
	require.NoError(t, err)
	got, err := Find(context.Background(), moved, dentition.Lower, Options{})
	require.NoError(t, err)
	require.Equal(t, want.Labels.Teeth(), got.Labels.Teeth())
	require.Greater(t, right(got.Labels, want.Labels), 0.995)
}

// sheet is a mesh over a square grid.
func sheet(t testing.TB, n int, f func(x, y float64) r3.Vec) *mesh.Mesh {
	t.Helper()
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for i := range n {
		for j := range n {
			verts = append(verts, f(float64(i)/float64(n-1), float64(j)/float64(n-1)))
			if i > 0 && j > 0 {
				a, b, c, d := mesh.VertexID((i-1)*n+j-1), mesh.VertexID(i*n+j-1), mesh.VertexID(i*n+j), mesh.VertexID((i-1)*n+j)
				tris = append(tris, [3]mesh.VertexID{a, b, c}, [3]mesh.VertexID{a, c, d})
			}
		}
	}
	m, err := mesh.New(verts, tris)
	require.NoError(t, err)
	return m
}

func TestSegmentRefusesWhatIsNoArch(t *testing.T) {
	empty, err := mesh.New(nil, nil)
	require.NoError(t, err)
	one, err := mesh.New([]r3.Vec{{}, {X: 1}, {Y: 1}}, [][3]mesh.VertexID{{0, 1, 2}})
	require.NoError(t, err)
	for name, m := range map[string]*mesh.Mesh{
		"nothing":      empty,
		"one triangle": one,
		"plane":        sheet(t, 80, func(x, y float64) r3.Vec { return r3.Vec{X: 60 * x, Y: 60 * y} }),
		"dome": sheet(t, 80, func(x, y float64) r3.Vec {
			x, y = 2*x-1, 2*y-1
			return r3.Vec{X: 30 * x, Y: 30 * y, Z: -10 * (x*x + y*y)}
		}),
		"point": sheet(t, 20, func(x, y float64) r3.Vec { return r3.Vec{} }),
	} {
		_, err := Find(context.Background(), m, dentition.Upper, Options{})
		require.ErrorIs(t, err, ErrNoArch, name)
	}
}

func TestSegmentChecksItsInput(t *testing.T) {
	m := sheet(t, 5, func(x, y float64) r3.Vec { return r3.Vec{X: x, Y: y} })
	segment := func(jaw dentition.Jaw, c ...Correction) error {
		_, err := Find(context.Background(), m, jaw, Options{Corrections: c})
		return err
	}
	require.ErrorIs(t, segment(0), dentition.ErrJaw)
	require.ErrorIs(t, segment(dentition.Upper, Correction{Tooth: 36}), dentition.ErrJaw)
	require.ErrorIs(t, segment(dentition.Upper, Correction{Tooth: 19}), dentition.ErrTooth)
	require.ErrorIs(t, segment(dentition.Upper, Correction{Tooth: 54}), ErrCorrection)
	require.ErrorIs(t, segment(dentition.Upper, Correction{Tooth: 11, Point: r3.Vec{X: math.NaN()}}), ErrCorrection)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := Find(ctx, m, dentition.Upper, Options{})
	require.ErrorIs(t, err, context.Canceled)
}

func TestSegmentStopsSoon(t *testing.T) {
	m, _ := realcase.Arch(t, dentition.Upper)
	ctx, cancel := context.WithTimeout(context.Background(), 300*time.Millisecond)
	defer cancel()
	_, err := Find(ctx, m, dentition.Upper, Options{})
	require.ErrorIs(t, err, context.DeadlineExceeded)
}

// A polynomial through noisy points in a known direction comes back.
func TestFitPolynomial(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 1))
	want := polynomial{x0: 1.5, c: -3, a: 0.03, e: 1e-5}
	var pts []r2.Vec
	for x := -25.0; x <= 25; x += 0.25 {
		pts = append(pts, r2.Vec{X: x, Y: want.at(x) + 0.1*rng.NormFloat64()})
	}
	got, cost := fitPolynomial(pts)
	require.Less(t, cost, 0.1)
	for x := -20.0; x <= 20; x += 5 {
		require.InDelta(t, want.at(x), got.at(x), 0.15)
	}
	// Turned upside down it is no arch.
	for i := range pts {
		pts[i].Y = -pts[i].Y
	}
	_, cost = fitPolynomial(pts)
	require.True(t, math.IsInf(cost, 1))
}

// Places along the curve: of points put at known stations and distances.
func TestAlong(t *testing.T) {
	var a archFrame
	a.lay(polynomial{a: 0.03, e: 1e-5})
	rng := rand.New(rand.NewPCG(9, 2))
	for range 500 {
		i := 8 + rng.IntN(len(a.curve)-16)
		tangent := r2.Unit(r2.Sub(a.curve[i+1], a.curve[i-1]))
		out := 10*rng.Float64() - 5
		// Outside is to the right of the way from right to left: −y in front.
		q := r2.Add(a.curve[i], r2.Scale(out, r2.Vec{X: tangent.Y, Y: -tangent.X}))
		station, outside := a.along(q)
		require.InDelta(t, a.station[i], station, 0.15)
		require.InDelta(t, out, outside, 0.02)
	}
}

// The cheapest row of a band that is drawn: crowns of handbook widths with
// valleys between them.
func TestNumberDrawnBand(t *testing.T) {
	draw := func(present func(place int) bool) (*band, map[dentition.ToothID][2]float64) {
		n := int(math.Round(2*reachBack/pace)) + 1
		b := &band{first: -reachBack, top: make([]float64, n), seam: make([]float64, n), valley: make([]float64, n),
			crown: make([]float64, n), thick: make([]float64, n)}
		for i := range n {
			b.top[i], b.seam[i], b.valley[i] = math.Inf(-1), 1, 1
		}
		want := map[dentition.ToothID][2]float64{}
		at := 0.0
		for p := 1; p <= 8; p++ {
			at -= lowerWidths[position(p)-1]
		}
		for p := 1; p <= numPlaces; p++ {
			end := at + lowerWidths[position(p)-1]
			if present(p) {
				mean, _ := usualThickness(position(p))
				for i := b.column(at); i < b.column(end); i++ {
					b.top[i], b.crown[i], b.thick[i] = 0, 1, mean
				}
				b.seam[b.column(at)], b.seam[b.column(end)] = 0.05, 0.05
				b.valley[b.column(at)], b.valley[b.column(end)] = 0.05, 0.05
				want[toothAt(dentition.Lower, p)] = [2]float64{at, end}
			}
			at = end
		}
		return b, want
	}
	for name, missing := range map[string][]dentition.ToothID{
		"all":           {},
		"no thirds":     {38, 48},
		"no 36":         {36, 38, 48},
		"gaps":          {38, 48, 46, 35, 42},
		"short rows":    {38, 48, 37, 36, 47},
		"no front":      {31, 41, 32, 42, 38, 48},
		"one quadrant ": {38, 48, 47, 46, 45, 44},
	} {
		gone := map[dentition.ToothID]bool{}
		for _, t := range missing {
			gone[t] = true
		}
		b, want := draw(func(p int) bool { return !gone[toothAt(dentition.Lower, p)] })
		got, err := newLineup(b, nil, dentition.Lower, make([]int, len(b.top)), usualWeights()).number(context.Background())
		require.NoError(t, err)
		require.Len(t, got.row, len(want), name)
		for _, s := range got.row {
			w, ok := want[s.tooth]
			require.True(t, ok, "%s: %v", name, s.tooth)
			require.InDelta(t, w[0], b.first+float64(s.start)*pace, 2*pace, "%s: %v", name, s.tooth)
			require.InDelta(t, w[1], b.first+float64(s.end)*pace, 2*pace, "%s: %v", name, s.tooth)
		}
	}
}

func TestPlacesAndTeeth(t *testing.T) {
	for _, jaw := range []dentition.Jaw{dentition.Upper, dentition.Lower} {
		for p := 1; p <= numPlaces; p++ {
			tooth := toothAt(jaw, p)
			require.True(t, tooth.Valid())
			require.Equal(t, jaw, tooth.Jaw())
			require.Equal(t, p, placeOf(tooth))
			require.Equal(t, p <= 8, tooth.Side() == dentition.Right)
		}
	}
}

func BenchmarkSegment(b *testing.B) {
	m, _ := realcase.Arch(b, dentition.Upper)
	b.ReportAllocs()
	for b.Loop() {
		s, err := Find(context.Background(), m, dentition.Upper, Options{})
		if err != nil || len(s.Teeth) != 14 {
			b.Fatal(err)
		}
	}
}
