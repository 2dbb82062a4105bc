package mounting

import (
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// The borders of the case are those that the mounting is judged by.
func TestMountingThresholdsOfTheCaseAreUsed(t *testing.T) {
	l := &casefile.Default().Thresholds
	l.HoldsUm, l.DragsUm, l.ScanDoubtUm = 10, 12, 5
	require.Equal(t, findings.Undecided, Judge(three(0, 16, 0), l).Verdict)
	require.Equal(t, findings.Remount, Judge(three(0, 18, 0), l).Verdict)
}

// The direction along which a gap closes is that between its nearest points, off a face where
// they touch, and no steeper than 72°.
func TestTowardTheUpperCast(t *testing.T) {
	face := testmesh.New([]r3.Vec{{}, {Y: 1}, {X: 1}}, [][3]mesh.VertexID{{0, 1, 2}}) // its normal is −z
	gap := func(dist float64, d r3.Vec) *contact.Gap {
		return &contact.Gap{Dist: dist, LowerPoint: r3.Vec{X: 1}, UpperPoint: r3.Add(r3.Vec{X: 1}, d)}
	}
	near := func(want, got r3.Vec) {
		t.Helper()
		require.InDelta(t, 0, r3.Norm(r3.Sub(want, got)), 1e-9, "%v", got)
	}
	near(r3.Vec{X: 0.6, Z: 0.8}, Toward(gap(0.5, r3.Vec{X: 0.3, Z: 0.4}), face))
	near(r3.Unit(r3.Vec{X: 1, Z: 0.3}), Toward(gap(0.5, r3.Vec{X: 0.5}), face))
	near(r3.Vec{X: 0.6, Z: 0.8}, Toward(gap(1e-6, r3.Vec{X: 0.6e-6, Z: 0.8e-6}), face))
	near(r3.Vec{Z: 1}, Toward(gap(0.99e-6, r3.Vec{X: 0.99e-6}), face))
	flat := testmesh.New([]r3.Vec{{}, {X: 1}, {X: 2}}, [][3]mesh.VertexID{{0, 1, 2}})
	near(r3.Vec{Z: 1}, Toward(gap(0, r3.Vec{}), flat))
}

// Which opposing pairs count for which area.
func TestAreasOfPairs(t *testing.T) {
	l := &casefile.Default().Thresholds
	least := func(pairs ...Closeness) (gaps [3]float64) {
		pairs = append(pairs, three(500, 501, 502)[:3]...)
		for i, a := range Judge(pairs, l).Areas {
			gaps[i] = a.GapUm
		}
		return gaps
	}
	none := [3]float64{500, 501, 502}
	for _, c := range []struct {
		upper, lower dentition.ToothID
		want         [3]float64
	}{
		{15, 46, [3]float64{90, 501, 502}}, {16, 45, [3]float64{90, 501, 502}}, {25, 36, [3]float64{500, 501, 90}},
		{15, 45, none}, {13, 44, none}, {14, 43, none}, {13, 43, [3]float64{500, 90, 502}},
		{16, dentition.NoTooth, none}, {dentition.NoTooth, 46, none},
	} {
		require.Equal(t, c.want, least(Closeness{Upper: c.upper, Lower: c.lower, Gap: 90, Toward: r3.Vec{Z: 1}}), "%v/%v", c.upper, c.lower)
	}
	m := Judge([]Closeness{{Upper: 17, Lower: 47, Gap: 3}, {Upper: 16, Lower: 46, Gap: 3}}, l)
	require.Equal(t, findings.Part(17), m.Areas[0].Upper, "of pairs that are as near the first counts")
}

// Up to a millimetre a gap may be a small tilt; what is acceptable has none.
func TestTiltOfSmallGaps(t *testing.T) {
	l := casefile.Default().Thresholds
	require.NotNil(t, Judge(three(0, 0, 1000), &l).Tilt)
	require.Nil(t, Judge(three(0, 0, 1000.5), &l).Tilt)
	l.HoldsUm, l.DragsUm, l.ScanDoubtUm = 10, 12, 0.5
	m := Judge(three(0, 10, 0), &l)
	require.Equal(t, findings.Acceptable, m.Verdict)
	require.Nil(t, m.Tilt)
}
