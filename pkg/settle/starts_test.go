package settle

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testcast"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// From anywhere near, the synthetic dentition comes back to where it was built to
// rest.
func TestSettleFromManyStarts(t *testing.T) {
	c := testcast.Synthetic(t)
	upper := testcast.Plain(t, dentition.Upper, c.Upper.Mesh)
	rng := rand.New(rand.NewPCG(8, 1))
	mid := c.Lower.Mesh.Bounds().Center()
	for range testcast.Few(50) {
		start := kinematics.Translation(r3.Scale(-1, mid)).
			Then(kinematics.Rotation(testmesh.Unit(rng), s1.Angle(rng.Float64())*0.5*s1.Degree)).
			Then(kinematics.Translation(r3.Add(mid, testmesh.Vec(rng, 0.3))))
		s, err := Settle(context.Background(), upper,
			testcast.Plain(t, dentition.Lower, testmesh.Moved(c.Lower.Mesh, start.Apply)), Options{DoubtUm: 5000})
		require.NoError(t, err)
		require.Equal(t, "seat", s.How, s.Text)
		require.LessOrEqual(t, s.Seat.Residual, 1e-6)
		require.Less(t, testcast.Astray(c.Lower, start.Then(s.Pose.Pose), kinematics.Pose{}), 3e-3)
	}
}

func BenchmarkSettle(b *testing.B) {
	up, lo := testcast.Plain(b, dentition.Upper, testcast.RealScan(b, dentition.Upper).Mesh), testcast.Plain(b,
		dentition.Lower, testcast.RealScan(b, dentition.Lower).Mesh)
	b.ReportAllocs()
	var s *findings.Settling
	var err error
	for b.Loop() {
		s, err = Settle(context.Background(), up, lo, Options{})
	}
	require.NoError(b, err)
	require.True(b, s.Seat.Locked)
}
