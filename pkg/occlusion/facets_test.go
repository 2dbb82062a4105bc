package occlusion_test

import (
	"math"
	"slices"
	"sync"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// worn has facets ground into stops along all three movements, and two teeth to
// be restored.
var worn = sync.OnceValues(func() (made, error) {
	p := typodont.Params{Triangles: 100000}
	for _, d := range []typodont.Disturbance{
		{Tooth: 44, Cusp: "buccal", Movement: "right"}, {Tooth: 34, Cusp: "buccal", Movement: "protrusive"}, {Tooth: 25, Cusp: "palatal", Movement: "left"},
		{Tooth: 46, Cusp: "distobuccal", Movement: "left"}, {Tooth: 26, Cusp: "mesiopalatal", Movement: "right"}, {Tooth: 36, Cusp: "distal", Movement: "left"},
		{Tooth: 17, Cusp: "mesiopalatal", Movement: "protrusive"}, {Tooth: 37, Cusp: "mesiobuccal", Movement: "left"}, {Tooth: 47, Cusp: "distobuccal", Movement: "right"},
		{Tooth: 15, Cusp: "palatal", Movement: "left"},
	} {
		d.Kind = typodont.Facet
		p.Disturbances = append(p.Disturbances, d)
	}
	return examined(p, occlusion.Options{AsSet: true}, func(c *casefile.Case) {
		c.Restore = []dentition.ToothID{25, 26}
		for i := range c.Excursions {
			c.Excursions[i].MaxMM, c.Excursions[i].StepMM = 3, 0.15
		}
	})
})

// Facets ground by a movement are attributed to it in nine of ten cases.
func TestFacetsAreAttributedToTheirMovements(t *testing.T) {
	m, err := worn()
	require.NoError(t, err)
	found, right, alone, paired := 0, 0, 0, 0
	for _, w := range m.Truth.Facets {
		if w.AreaMM2 < 0.4 {
			continue
		}
		for i := range m.found.Facets {
			f := &m.found.Facets[i]
			c, n := r3.Vec{X: f.CentreMM[0], Y: f.CentreMM[1], Z: f.CentreMM[2]}, r3.Vec{X: f.Normal[0], Y: f.Normal[1], Z: f.Normal[2]}
			d := r3.Sub(c, w.Point.Vec())
			if int(dentition.ToothID(f.Tooth)) != w.Tooth || r3.Dot(n, w.Normal.Vec()) < math.Cos(10*math.Pi/180) || math.Abs(r3.Dot(d, w.Normal.Vec())) > 0.05 || r3.Norm(d) > 2 {
				continue
			}
			found++
			if slices.Contains(f.GroundBy, w.Movement) {
				right++
				if len(f.GroundBy) == 1 {
					alone++
				}
			} else {
				t.Logf("%s by %s: %v %+v", f.Name(), w.Movement, f.GroundBy, f.Slides)
			}
			if f.Partner != nil && int(dentition.ToothID(f.Partner.Tooth)) == w.Partner {
				paired++
			} else {
				t.Logf("%s meets %+v", f.Name(), f.Partner)
			}
		}
	}
	t.Logf("%d found of %d, %d attributed rightly, %d of them to one movement, %d with their partner", found, len(m.Truth.Facets), right, alone, paired)
	require.Equal(t, []int{1}, m.found.Restore[0].Facets, "of 25")
	wear := m.found.Restore[1].Wear // of 26, whose facet was ground on the nonworking side
	require.True(t, slices.ContainsFunc(wear, func(w occlusion.RestoreFacet) bool { return w.Do == "not_again" && w.Movement == "right" }), "%v", wear)
	require.GreaterOrEqual(t, found, 14)
	require.GreaterOrEqual(t, 10*right, 9*found)
}
