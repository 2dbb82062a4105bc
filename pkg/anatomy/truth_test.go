package anatomy_test

import (
	"context"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func generate(t testing.TB, p typodont.Params) *typodont.Case {
	t.Helper()
	c, err := typodont.Generate(context.Background(), p)
	require.NoError(t, err)
	return c
}

func between(a, b r3.Vec) float64 {
	return math.Atan2(r3.Norm(r3.Cross(a, b)), r3.Dot(a, b)) * 180 / math.Pi
}

// truthName is a feature's name as the truth of the synthetic dentition has it.
func truthName(t dentition.ToothID, f anatomy.Feature) string {
	name := strings.TrimSuffix(f.String(), " cusp")
	name = strings.TrimSuffix(name, " edge")
	if t.Jaw() == dentition.Upper {
		name = strings.Replace(name, "lingual", "palatal", 1)
	}
	return name
}

// plain is an undisturbed case; tests only read it.
var plain = sync.OnceValues(func() (*typodont.Case, error) {
	return typodont.Generate(context.Background(), typodont.Params{Triangles: 100000})
})

func undisturbed(t testing.TB) *typodont.Case {
	t.Helper()
	c, err := plain()
	require.NoError(t, err)
	return c
}

// charts are those of both arches by tooth.
func charts(t testing.TB, c *typodont.Case) map[int]anatomy.Chart {
	t.Helper()
	out := map[int]anatomy.Chart{}
	for _, a := range []typodont.Arch{c.Upper, c.Lower} {
		frames, err := anatomy.Frames(a.Mesh, a.Labels)
		require.NoError(t, err)
		marks, err := anatomy.Landmarks(a.Mesh, a.Labels)
		require.NoError(t, err)
		for _, f := range frames {
			out[int(f.Tooth)] = anatomy.NewChart(f, marks)
		}
	}
	return out
}

// Every stop that the synthetic dentition was built with lies on the features that
// it was built on, at least 95 % of them; the others lie on the borders between two.
func TestSitesOfTruth(t *testing.T) {
	for name, c := range map[string]*typodont.Case{
		"plain": undisturbed(t),
		"noise": generate(t, typodont.Params{Triangles: 100000, Disturbances: []typodont.Disturbance{{Kind: typodont.Noise, Um: 10, MM: 0.8}}}),
	} {
		at := charts(t, c)
		right, all := 0, 0
		for _, s := range c.Truth.Stops {
			up, lo := at[s.Upper], at[s.Lower]
			for _, x := range []struct {
				site anatomy.Site
				want string
			}{{up.At(s.At.Vec()), s.UpperFeature}, {lo.At(s.At.Vec()), s.LowerFeature}} {
				all++
				if truthName(x.site.Tooth, x.site.Feature) == x.want {
					right++
				} else {
					t.Logf("%s: %v, built on the %s", name, x.site, x.want)
				}
			}
		}
		require.Equal(t, 60, all)
		require.GreaterOrEqual(t, float64(right), 0.95*float64(all), name)
		for _, x := range at {
			for _, k := range x.Landmarks {
				if f := k.Feature; (f.Cusp() || f.Fossa()) && !x.Frame.Tooth.Type().Anterior() {
					require.Equal(t, f, x.At(k.Point).Feature, "%v", k.Tooth)
				}
			}
		}
	}
}

// Marginal ridges and fossae lie within 1.2 mm of where they were built, along
// the tooth, half of them within 0.3 mm. The upper surface is carved by what
// it meets, so that its deepest spots can move.
func TestRidgesAndFossaeOfTruth(t *testing.T) {
	c := undisturbed(t)
	at := charts(t, c)
	var off []float64
	for _, tooth := range c.Truth.Teeth {
		for _, k := range at[tooth.Tooth].Landmarks {
			for _, f := range tooth.Features {
				if f.Name == truthName(k.Tooth, k.Feature) && (k.Feature.Fossa() || k.Feature.MarginalRidge()) {
					d := math.Abs(r3.Dot(r3.Sub(k.Point, f.Point.Vec()), tooth.Mesial.Vec()))
					require.Less(t, d, 1.2, "%v %v", k.Tooth, k.Feature)
					off = append(off, d)
				}
			}
		}
	}
	require.Len(t, off, 72)
	slices.Sort(off)
	require.Less(t, off[len(off)/2], 0.3)
}

func TestFramesAndTipsOfTruth(t *testing.T) {
	c := undisturbed(t)
	truth := map[dentition.ToothID]typodont.ToothTruth{}
	for _, tooth := range c.Truth.Teeth {
		truth[dentition.ToothID(tooth.Tooth)] = tooth
	}
	var tips, edges int
	for _, a := range []typodont.Arch{c.Upper, c.Lower} {
		frames, err := anatomy.Frames(a.Mesh, a.Labels)
		require.NoError(t, err)
		require.Len(t, frames, 14)
		for _, f := range frames {
			w := truth[f.Tooth]
			require.Less(t, between(w.Occlusal.Vec(), f.Occlusal), 5.0, "%v", f.Tooth)
			require.Less(t, between(w.Mesial.Vec(), f.Mesial), 12.0, "%v", f.Tooth)
			require.Less(t, between(w.Buccal.Vec(), f.Buccal), 12.0, "%v", f.Tooth)
		}
		marks, err := anatomy.Landmarks(a.Mesh, a.Labels)
		require.NoError(t, err)
		found := map[dentition.ToothID]int{}
		for _, k := range marks {
			if k.Feature.Cusp() {
				found[k.Tooth]++
			}
			for _, p := range truth[k.Tooth].Cusps {
				if p.Name != truthName(k.Tooth, k.Feature) {
					continue
				}
				tips++
				require.Equal(t, p.Supporting, k.Feature.Role(k.Tooth) == anatomy.Supporting, "%v %v", k.Tooth, k.Feature)
				// Vertices are 0.25 mm apart; a tip between them is found to that.
				require.Less(t, r3.Norm(r3.Sub(k.Point, p.Point.Vec())), 0.35, "%v %v", k.Tooth, k.Feature)
			}
			for _, p := range truth[k.Tooth].Features {
				if p.Name == truthName(k.Tooth, k.Feature) && strings.HasSuffix(p.Name, "incisal") {
					edges++
					require.Less(t, r3.Norm(r3.Sub(k.Point, p.Point.Vec())), 0.5, "%v %v", k.Tooth, k.Feature)
				}
			}
		}
		for tooth, n := range found {
			require.Len(t, truth[tooth].Cusps, n, "%v", tooth)
		}
	}
	require.Equal(t, 56, tips)
	require.Equal(t, 24, edges)

	m, err := anatomy.MountingPoints(c.Lower.Mesh, c.Lower.Labels)
	require.NoError(t, err)
	require.Less(t, r3.Norm(r3.Sub(m.IncisalPoint, c.Truth.IncisalPoint.Vec())), 0.15)
	require.Less(t, r3.Norm(r3.Sub(m.RightMolar, c.Truth.RightMolar.Vec())), 0.15)
	require.Less(t, r3.Norm(r3.Sub(m.LeftMolar, c.Truth.LeftMolar.Vec())), 0.15)
}

// Tips are found to 0.15 mm in scans as fine as usual, with 200,000 triangles an arch.
func TestTipsOfTruth(t *testing.T) {
	if testing.Short() {
		t.Skip("takes 5 s")
	}
	c := generate(t, typodont.Params{Triangles: 200000})
	at := charts(t, c)
	tips := 0
	for _, tooth := range c.Truth.Teeth {
		for _, k := range at[tooth.Tooth].Landmarks {
			for _, p := range tooth.Cusps {
				if p.Name == truthName(k.Tooth, k.Feature) {
					tips++
					require.Less(t, r3.Norm(r3.Sub(k.Point, p.Point.Vec())), 0.15, "%v %v", k.Tooth, k.Feature)
				}
			}
		}
	}
	require.Equal(t, 56, tips)
}
