package occlusion_test

import (
	"math"
	"strings"
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/faultkit"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// tippedWithin is how near the angle of a tipped tooth is told, in degrees.
const tippedWithin = 1.5

// tippedCrown turns a labelled crown about its neck, blended into what is no tooth, by the labels
// alone: mesial is where the crown in front stands, the neck below the middle where the crown begins.
func tippedCrown(t *testing.T, m *mesh.Mesh, l *dentition.Labels, tooth dentition.ToothID, around, by s1.Angle) *mesh.Mesh {
	t.Helper()
	middle := func(of dentition.ToothID) (sum r3.Vec) {
		n := 0.0
		for v, p := range m.Vertices() {
			if l.Vertex(mesh.VertexID(v)) == of {
				sum, n = r3.Add(sum, p), n+1
			}
		}
		require.Positive(t, n)
		return r3.Scale(1/n, sum)
	}
	own := func(v mesh.VertexID) bool { return l.Vertex(v) == tooth }
	up := 1.0
	if tooth.Jaw() == dentition.Upper {
		up = -1
	}
	neck, low := middle(tooth), math.Inf(1)
	for v, p := range m.Vertices() {
		if own(mesh.VertexID(v)) {
			low = min(low, up*p.Z)
		}
	}
	neck.Z = up * low
	mesial := r3.Sub(middle(tooth-1), middle(tooth))
	mesial.Z = 0
	mesial = r3.Unit(mesial)
	sin, cos := math.Sincos(around.Radians())
	axis := r3.Add(r3.Scale(sin, mesial), r3.Scale(cos, r3.Vec{X: -mesial.Y, Y: mesial.X}))
	out, err := faultkit.Tipped(m, neck, axis, by, own, func(v mesh.VertexID) bool { return l.Vertex(v) == dentition.NoTooth }, 1.5)
	require.NoError(t, err)
	return out
}

// Teeth that a program tips, 17 and 36 by 14° and by 18°, to two sides, are told in the whole
// examination from the scans on, by name and by their angle; with straight ones none is. That either
// of two twins may be the tipped one is told in so many words.
func TestTippedTeethAreToldInAWholeCase(t *testing.T) {
	if testing.Short() {
		t.Skip("seconds")
	}
	c, err := typodont.Generate(t.Context(), typodont.Params{Triangles: 30000, Seed: 5})
	require.NoError(t, err)
	examine := func(upper, lower *mesh.Mesh) map[dentition.ToothID]float64 {
		scan := func(m *mesh.Mesh, l *dentition.Labels) *casts.Scan {
			teeth, err := l.Triangles(m)
			require.NoError(t, err)
			return &casts.Scan{Mesh: m, Labels: l, Teeth: teeth}
		}
		f := examineScans(t, c.CaseFile(), scan(upper, c.Upper.Labels), scan(lower, c.Lower.Labels))
		told := map[dentition.ToothID]float64{}
		for _, x := range f.Arches.Tipped {
			told[x.Tooth.Tooth()] = x.AngleDeg
			assert.Contains(t, f.Arches.Text.String(), x.Text.String())
			if strings.Contains(x.Text.String(), "lean differently") {
				t.Logf("left open: %s", x.Text.String())
			}
		}
		return told
	}
	require.Empty(t, examine(c.Upper.Mesh, c.Lower.Mesh))
	for around, deg := range map[float64]float64{90: 18, 270: 14} {
		turn, by := s1.Angle(around)*s1.Degree, s1.Angle(deg)*s1.Degree
		told := examine(tippedCrown(t, c.Upper.Mesh, c.Upper.Labels, 17, turn, by), tippedCrown(t, c.Lower.Mesh, c.Lower.Labels, 36, turn, by))
		t.Logf("%g° around %g°: %v", deg, around, told)
		for _, tooth := range []dentition.ToothID{17, 36} {
			got, ok := told[tooth]
			if twin, either := told[tooth.Mirror()]; !ok && either {
				got, ok = twin, true
			}
			assert.True(t, ok, "%v tipped by %g° around %g° is told", tooth, deg, around)
			assert.InDelta(t, deg, got, tippedWithin, "%v around %g°", tooth, around)
			delete(told, tooth)
			delete(told, tooth.Mirror())
		}
		assert.Empty(t, told, "no other tooth is")
	}
}
