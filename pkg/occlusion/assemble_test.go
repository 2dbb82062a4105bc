package occlusion_test

import (
	"context"
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// bumps is a plate with smooth hills; a wider one is its counterpart.
func bumps(width float64) *mesh.Mesh {
	tops := []r3.Vec{{X: -6, Y: -4}, {X: 6, Y: -5}, {X: -5, Y: 6}, {X: 7, Y: 5}, {X: 0, Y: -9}}
	return testmesh.Sheet(26, 26, func(u, v float64) r3.Vec {
		p := r3.Vec{X: 24 * (u - 0.5), Y: 24 * (v - 0.5)}
		for i, c := range tops {
			d := r3.Norm2(r3.Sub(r3.Vec{X: p.X, Y: p.Y}, c)) / (width * width)
			p.Z += 2 * (1 + 0.1*float64(i)) * math.Exp(-d)
		}
		return p
	})
}

// The case's doubt and press reach the settling, the press moved from the scans'
// frame to the articulator's.
func TestSettleAsTheCaseSays(t *testing.T) {
	up, lo := testmesh.Turned(bumps(2.6)), testmesh.Shifted(bumps(2.2), r3.Vec{X: 0.12, Y: -0.08, Z: -0.6})
	cs := casefile.Default()
	cs.Mount = casefile.Mount{Matrix: &[16]float64{0, -1, 0, 5, 1, 0, 0, -60, 0, 0, 1, -30, 0, 0, 0, 1}}
	cs.Settle = casefile.Settle{How: casefile.SettleSeat, DoubtUm: 1234, PressPoint: &casefile.Point{1, 2, -3},
		PressDirection: &casefile.Point{0.2, 0, 2}}
	assembled, err := occlusion.Assemble(context.Background(), cs, &casts.Scan{Mesh: up}, &casts.Scan{Mesh: lo})
	require.NoError(t, err)
	r := assembled.Settling.Seat
	require.InDelta(t, 1234, r.DoubtUm, 0)
	along := math.Hypot(0.2, 2)
	for i, want := range [3]float64{3, -59, -33} {
		require.InDelta(t, want, r.PressPointMM[i], 1e-12)
		require.InDelta(t, [3]float64{0, 0.2 / along, 2 / along}[i], r.PressDirection[i], 1e-12)
	}
}
