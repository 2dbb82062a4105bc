package articulate

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testcast"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/settle"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// Other dentitions than those on which the search was made: other overjets, other
// meshes, and teeth out of place. From anywhere near they come to one rest, to within
// 10 µm: 14 of 16 starts to 0.01 µm, two to 5 and 6 µm off. With the press of the
// first start one of these two comes to the same place as well; the other holds on five
// contacts instead of six, 0.07 µm less deep. By hand they come within 0.1 mm of how
// they were built.
func TestSettleHeldOut(t *testing.T) {
	held := []struct {
		typodont.Params
		disturb []string
	}{
		{typodont.Params{Overjet: 2.6, Overbite: 3}, nil},
		{typodont.Params{ThirdMolars: true}, []string{"raise,tooth=46,um=40"}},
		{typodont.Params{Triangles: 30000}, []string{"incisor,tooth=41,um=-150"}},
		{typodont.Params{Triangles: 90000, Overjet: 2.3, Overbite: 2.6}, []string{"facet,tooth=16,movement=left"}},
		{typodont.Params{}, []string{"missing,tooth=36", "noise,um=8"}},
		{typodont.Params{}, []string{"open_anterior"}},
		{typodont.Params{}, []string{"rotate,tooth=45"}},
		{typodont.Params{}, []string{"drift,tooth=25,mm=0.4"}},
	}
	n := testcast.Few(16)
	for i, h := range held[:min(n, len(held))] {
		h.Seed = uint64(100 + i)
		c, err := testcast.Generated(h.Params, h.disturb...)
		require.NoError(t, err, "%v", h)
		upper := testcast.Plain(t, dentition.Upper, c.Upper.Mesh)
		rng := rand.New(rand.NewPCG(h.Seed, 1))
		mid := c.Lower.Mesh.Bounds().Center()
		var first kinematics.Pose
		for k := range 3 {
			start := kinematics.Pose{}
			if k > 0 {
				start = kinematics.Translation(r3.Scale(-1, mid)).
					Then(kinematics.Rotation(testmesh.Unit(rng), s1.Angle(rng.Float64())*0.5*s1.Degree)).
					Then(kinematics.Translation(r3.Add(mid, testmesh.Vec(rng, 0.3))))
			}
			s, err := settle.Settle(context.Background(), upper,
				testcast.Plain(t, dentition.Lower, testmesh.Moved(c.Lower.Mesh, start.Apply)), settle.Options{DoubtUm: 5000})
			require.NoError(t, err)
			require.True(t, s.Seat.Locked, "%v: %s", h, s.Text)
			if k == 0 {
				first = s.Pose.Pose
			}
			require.Less(t, testcast.Astray(c.Lower, start.Then(s.Pose.Pose), first), 0.01, "%v", h)
			if h.disturb == nil {
				require.Less(t, testcast.Astray(c.Lower, start.Then(s.Pose.Pose), kinematics.Pose{}), 3e-3)
			}
		}
		a, d := byHand(t, c, rng)
		require.Less(t, d, 0.1, "%v: %s", h, a.SeatText)
		require.Greater(t, a.Lead(), 0.2)
	}
}
