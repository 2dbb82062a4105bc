package occlusion_test

import (
	"math"
	"slices"
	"sync"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// ground is a dentition with facets ground into stops along all three movements,
// and two teeth to be restored.
func ground(more ...typodont.Disturbance) (made, error) {
	p := typodont.Params{Triangles: 100000}
	for _, d := range []typodont.Disturbance{
		{Tooth: 44, Cusp: "buccal", Movement: "right"}, {Tooth: 34, Cusp: "buccal", Movement: "protrusive"},
		{Tooth: 25, Cusp: "palatal", Movement: "left"},
		{Tooth: 46, Cusp: "distobuccal", Movement: "left"}, {Tooth: 26, Cusp: "mesiopalatal", Movement: "right"},
		{Tooth: 36, Cusp: "distal", Movement: "left"},
		{Tooth: 17, Cusp: "mesiopalatal", Movement: "protrusive"}, {Tooth: 37, Cusp: "mesiobuccal", Movement: "left"},
		{Tooth: 47, Cusp: "distobuccal", Movement: "right"},
		{Tooth: 15, Cusp: "palatal", Movement: "left"},
	} {
		d.Kind = typodont.Facet
		p.Disturbances = append(p.Disturbances, d)
	}
	p.Disturbances = append(p.Disturbances, more...)
	return examined(p, occlusion.Options{AsSet: true}, followed)
}

// followed takes the movements as far as facets need.
func followed(c *casefile.Case) {
	c.Restore = []dentition.ToothID{25, 26}
	for i := range c.Excursions {
		c.Excursions[i].MaxMM, c.Excursions[i].StepMM = 3, 0.15
	}
}

var worn = sync.OnceValues(func() (made, error) { return ground() })

// score counts the ground facets above 0.4 mm², those that were found, those given
// to their movement, to it alone, and to their partner, and what was found.
type score struct{ there, recovered, right, alone, paired, found, true int }

func scored(t *testing.T, m *made) (s score) {
	t.Helper()
	ground := make([]bool, len(m.found.Facets))
	for _, w := range m.Truth.Facets {
		recovered, right, alone, paired := 0, 0, 0, 0
		for i := range m.found.Facets {
			f := &m.found.Facets[i]
			c, n := r3.Vec{X: f.CentreMM[0], Y: f.CentreMM[1], Z: f.CentreMM[2]}, r3.Vec{X: f.Normal[0], Y: f.Normal[1], Z: f.Normal[2]}
			d := r3.Sub(c, w.Point.Vec())
			if int(dentition.ToothID(f.Tooth)) != w.Tooth || r3.Dot(n, w.Normal.Vec()) < math.Cos(12*math.Pi/180) ||
				math.Abs(r3.Dot(d, w.Normal.Vec())) > 0.06 || r3.Norm(d) > 2 {
				continue
			}
			ground[i], recovered = true, 1
			if slices.Contains(f.GroundBy, findings.Movement(w.Movement)) {
				right = 1
				if len(f.GroundBy) == 1 {
					alone = 1
				}
			} else {
				t.Logf("%s by %s: %v %+v", f.Name(), w.Movement, f.GroundBy, f.Slides)
			}
			if f.Partner != nil && int(dentition.ToothID(f.Partner.Tooth)) == w.Partner {
				paired = 1
			}
		}
		if w.AreaMM2 >= 0.4 {
			s.there, s.recovered, s.right, s.alone, s.paired = s.there+1, s.recovered+recovered, s.right+right, s.alone+alone, s.paired+paired
		}
	}
	for i, g := range ground {
		if m.found.Facets[i].AreaMM2 >= 0.4 {
			s.found++
			if g {
				s.true++
			}
		}
	}
	require.Positive(t, s.there)
	t.Logf("%+v", s)
	return s
}

// Facets ground by a movement are found, attributed to it in nine of ten cases, and
// matched with what ground them.
func TestFacetsAreAttributedToTheirMovements(t *testing.T) {
	m, err := worn()
	require.NoError(t, err)
	s := scored(t, &m)
	require.GreaterOrEqual(t, 10*s.recovered, 9*s.there)
	require.GreaterOrEqual(t, 10*s.true, 9*s.found)
	require.GreaterOrEqual(t, 10*s.right, 9*s.recovered)
	require.GreaterOrEqual(t, 10*s.alone, 8*s.recovered)
	require.GreaterOrEqual(t, 10*s.paired, 8*s.recovered)
	require.Equal(t, []int{1}, m.found.Restore[0].Facets, "of 25")
	wear := m.found.Restore[1].Wear // of 26, whose facet was ground on the nonworking side
	require.True(t, slices.ContainsFunc(wear,
		func(w findings.RestoreFacet) bool { return w.Do == "not_again" && w.Movement == "right" }), "%v", wear)
}

// A cusp raised on another tooth holds the casts open in all movements; the facets
// are found and attributed as without it.
func TestFacetsUnderAPrematureContact(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	m, err := ground(typodont.Disturbance{Kind: typodont.Raise, Tooth: 16, Cusp: "mesiopalatal", Um: 150})
	require.NoError(t, err)
	require.Equal(t, findings.Part(16), m.found.Excursions[0].Frames[0].Carrier.Upper)
	s := scored(t, &m)
	require.GreaterOrEqual(t, 10*s.recovered, 9*s.there)
	require.GreaterOrEqual(t, 10*s.true, 9*s.found)
	require.GreaterOrEqual(t, 10*s.right, 9*s.recovered)
}

// Scan noise of 20 µm costs at most a quarter of the facets, makes few that are
// none, and leaves them to their movements; unworn teeth under the same noise have
// none.
func TestFacetsUnderNoise(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	plain, err := worn()
	require.NoError(t, err)
	noise := typodont.Disturbance{Kind: typodont.Noise, Um: 20, MM: 0.8}
	m, err := ground(noise)
	require.NoError(t, err)
	clean, s := scored(t, &plain), scored(t, &m)
	require.GreaterOrEqual(t, 4*s.recovered, 3*clean.recovered)
	require.GreaterOrEqual(t, 10*s.true, 9*s.found)
	require.GreaterOrEqual(t, 10*s.right, 9*s.recovered)

	u, err := examined(typodont.Params{Triangles: 100000, Seed: 31, Disturbances: []typodont.Disturbance{noise}},
		occlusion.Options{AsSet: true}, followed)
	require.NoError(t, err)
	for _, f := range u.found.Facets {
		require.Less(t, f.AreaMM2, 0.4, f.Name())
	}
}
