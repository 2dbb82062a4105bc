package restore

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/judge"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// A facet must stay where a stable stop lies on it or its tooth guides or works on
// it; it is not copied where only unwanted contacts lie on it, or only movements in
// which the tooth should not be in contact would grind it; else the casts do not tell. Facets
// are flat discs of 1 mm² here, facing up or down, 5 mm apart; the lower arch moves by
// 1 mm to the right, so that spots on it are found only through the pose.
func TestFacetsToHeed(t *testing.T) {
	up, down := findings.Vec{0, 0, 1}, findings.Vec{0, 0, -1}
	facet := func(tooth findings.Part, number int, y float64, n findings.Vec, by ...findings.Movement) findings.WearFacet {
		return findings.WearFacet{Tooth: tooth, Number: number, CentreMM: findings.Vec{0, y, 0}, Normal: n, AreaMM2: 1, GroundBy: by}
	}
	moved := findings.Pose{Pose: kinematics.Translation(r3.Vec{X: -1})}
	still := findings.Pose{}
	touch := func(u, l findings.Part, x, y float64) findings.Contact {
		return findings.Contact{Upper: u, Lower: l, PointMM: findings.Vec{x, y, 0.02}, FoilUm: 40}
	}
	carrier := func(u, l findings.Part, x, y float64) *findings.Touch {
		return &findings.Touch{Upper: u, Lower: l, PointMM: findings.Vec{x, y, 0}}
	}
	f := &findings.Findings{
		Centric: findings.Centric{Pose: still, Stops: []findings.Stop{
			{Upper: 16, Lower: 46, PointMM: findings.Vec{0.3, 0, 0}, Stable: true},
			{Upper: 16, Lower: 46, PointMM: findings.Vec{0, 5, 0}, Stable: false},
			{Upper: 16, Lower: 46, PointMM: findings.Vec{0, 12, 0}, Stable: true}, // beside the facet at 10
		}},
		Excursions: []findings.Excursion{{
			Movement: "right",
			Frames: []findings.Frame{
				{TravelMM: 0, Pose: still, Carrier: carrier(16, 46, 0, 10)},
				{TravelMM: 1, Pose: moved, Carrier: carrier(13, 43, 0, 20),
					Contacts: []findings.Contact{touch(14, 44, -1, 25), touch(27, 37, -1, 30), touch(15, 45, 0, 45)}},
			},
			Findings: []findings.Finding{{Kind: findings.KindNonworkingContact, Upper: 27, Lower: 37, FromMM: 0.9, ToMM: 1.2}},
		}},
	}
	movements, err := judge.Movements(f.Excursions, casefile.Default())
	require.NoError(t, err)
	for _, x := range []struct {
		facet    findings.WearFacet
		do       string
		movement findings.Movement
		with     findings.Part
		why      string
	}{
		{facet(16, 1, 0, down), doKeep, findings.Closed, 46, "the stable stop with 46 lies on it"},
		{facet(46, 1, 0, up), doKeep, findings.Closed, 16, "the stable stop with 16 lies on it"},
		{facet(16, 2, 5, down), doOpen, "", 0, "no simulated movement explains it"},
		{facet(16, 3, 10, down, "protrusive"), doNot, "protrusive", 0, "only protrusion would grind it, in which 16 should not be in contact"},
		{facet(13, 1, 20, down, "right"), doKeep, "right", 43, "it guides right lateral movement there, on 43"},
		{facet(44, 1, 25, up), doKeep, "right", 14, "in right lateral movement it slides on 14 there"},
		{facet(37, 1, 30, up, "right"), doNot, "right", 27,
			"the contact with 27 in right lateral movement lies on it: it is a contact on the nonworking side"},
		// a millimetre beside
		{facet(27, 1, 30, down, "right"), doNot, "right", 0, "only right lateral movement would grind it, in which 27 should not be in contact"},
		{facet(26, 1, 35, down, "right"), doNot, "right", 0, "only right lateral movement would grind it, in which 26 should not be in contact"},
		{facet(17, 1, 40, down, "right"), doOpen, "right", 0, "nothing touches it today, though right lateral movement would grind it"},
		{facet(45, 1, 45, up, "right"), doOpen, "right", 0, "nothing touches it today, though right lateral movement would grind it"},
	} {
		got := facetToHeed(&x.facet, f, movements)
		require.Equal(t, x.do, got.Do, x.facet.Name())
		require.Equal(t, x.movement, got.Movement, x.facet.Name())
		require.Equal(t, x.with, got.With, x.facet.Name())
		require.Equal(t, x.why, got.Why.String())
		require.Equal(t, x.facet.Number, got.Number)
	}
}
