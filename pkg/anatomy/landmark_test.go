package anatomy

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/realcase"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// Cusp numbers by the handbook (FACTS 4.22 to 4.24), least and most.
func cuspNumbers(t dentition.ToothID) (least, most int) {
	lower := t.Jaw() == dentition.Lower
	switch k := t.Type(); {
	case k.Incisor():
		return 0, 0
	case k == dentition.Canine:
		return 1, 1
	case k == dentition.SecondPremolar && lower:
		return 2, 3
	case k.Premolar():
		return 2, 2
	case k == dentition.FirstMolar && lower:
		return 5, 5
	case k == dentition.FirstMolar:
		return 4, 4
	case k.Molar() && lower:
		return 4, 4
	}
	return 3, 4
}

func TestCuspNumbersOnRealCase(t *testing.T) {
	for _, jaw := range []dentition.Jaw{dentition.Upper, dentition.Lower} {
		m, l := realcase.Arch(t, jaw)
		marks, err := Landmarks(m, l)
		require.NoError(t, err)
		found := map[dentition.ToothID]int{}
		for _, k := range marks {
			if k.Feature.Cusp() {
				found[k.Tooth]++
			}
			require.Equal(t, k.Tooth, l.Vertex(k.Vertex))
			require.Less(t, r3.Norm(r3.Sub(k.Point, m.Vertex(k.Vertex))), 0.35, "%v %v", k.Tooth, k.Feature)
			require.GreaterOrEqual(t, k.Confidence, 0.0)
			require.LessOrEqual(t, k.Confidence, 1.0)
		}
		for _, tooth := range l.Teeth() {
			least, most := cuspNumbers(tooth)
			require.GreaterOrEqual(t, found[tooth], least, "%v", tooth)
			require.LessOrEqual(t, found[tooth], most, "%v", tooth)
		}
	}
}

func TestRoles(t *testing.T) {
	for _, c := range []struct {
		tooth dentition.ToothID
		f     Feature
		want  Role
	}{
		// Supporting are the upper lingual and the lower buccal cusps (FACTS 4.25).
		{16, MesiolingualCusp, Supporting}, {16, MesiobuccalCusp, Guiding}, {24, LingualCusp, Supporting}, {24, BuccalCusp, Guiding},
		{46, DistobuccalCusp, Supporting}, {46, DistalCusp, Supporting}, {46, MesiolingualCusp, Guiding}, {34, BuccalCusp, Supporting},
		{13, CanineCusp, Guiding}, {43, CanineCusp, Supporting}, {11, IncisalEdge, Guiding}, {31, IncisalEdge, Supporting},
		{16, CentralFossa, NoRole}, {36, MesialMarginalRidge, NoRole}, {11, Cingulum, NoRole},
	} {
		require.Equal(t, c.want, c.f.Role(c.tooth), "%v %v", c.tooth, c.f)
	}
}

func TestFeatureNames(t *testing.T) {
	seen := map[string]bool{}
	for f := MesiobuccalCusp; f <= LingualGroove; f++ {
		require.NotEmpty(t, f.String())
		require.False(t, seen[f.String()], f.String())
		seen[f.String()] = true
		kinds := 0
		for _, is := range []bool{f.Cusp(), f.Fossa(), f.MarginalRidge(), f.Groove()} {
			if is {
				kinds++
			}
		}
		require.LessOrEqual(t, kinds, 1)
	}
	require.Equal(t, "no feature", Feature(0).String())
	require.Equal(t, "no feature", Feature(200).String())
}

// hill is a relief whose height over the plane is a function.
func hill(size int, step float64, f func(x, y float64) float64) Relief {
	var r Relief
	n := 2*size + 1
	for i := range n {
		for j := range n {
			x, y := float64(i-size)*step, float64(j-size)*step
			r.Points = append(r.Points, r3.Vec{X: x, Y: y, Z: f(x, y)})
			r.IDs = append(r.IDs, mesh.VertexID(len(r.IDs)))
			var next []int32
			for _, d := range [][2]int{{-1, 0}, {1, 0}, {0, -1}, {0, 1}, {1, 1}, {-1, -1}} {
				if a, b := i+d[0], j+d[1]; a >= 0 && b >= 0 && a < n && b < n {
					next = append(next, int32(a*n+b))
				}
			}
			r.Next = append(r.Next, next)
		}
	}
	r.Border = make([]bool, n*n)
	return r
}

// Two round hills of heights 2 and 1.5 with a pass of a known height between
// them: their prominences follow in closed form.
func TestPeaks(t *testing.T) {
	bump := func(x, y, x0, h float64) float64 { return h * math.Max(0, 1-((x-x0)*(x-x0)+y*y)/4) }
	r := hill(40, 0.1, func(x, y float64) float64 { return max(bump(x, y, -1, 2), bump(x, y, 1, 1.5)) })
	got := r.peaks(func(v int32) float64 { return r.Points[v].Z }, 0.01)
	require.Len(t, got, 2)
	require.InDelta(t, -1, r.Points[got[0].vertex].X, 1e-9)
	require.InDelta(t, 2, got[0].prominence, 1e-9, "the highest stands above the lowest place")
	require.InDelta(t, 1, r.Points[got[1].vertex].X, 1e-9)
	// The pass lies where the hills are equally high on the line between them.
	pass := 0.0
	for x := -1.0; x <= 1; x += 0.1 {
		if h := math.Max(bump(x, 0, -1, 2), bump(x, 0, 1, 1.5)); x > -1+1e-9 && (pass == 0 || h < pass) {
			pass = h
		}
	}
	require.InDelta(t, 1.5-pass, got[1].prominence, 1e-9)
	require.Empty(t, r.peaks(func(v int32) float64 { return r.Points[v].Z }, 3))
}
