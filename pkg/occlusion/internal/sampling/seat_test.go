package sampling

import (
	"context"
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testcast"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/settle"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// seated is a typodont in its seat, and what its samples share.
func seated(t *testing.T) *run {
	ctx := context.Background()
	made := testcast.Synthetic(t)
	c := casefile.Default()
	c.Mount = casefile.Mount{Matrix: &[16]float64{1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1}}
	upper, lower := castOf(t, made.Upper, dentition.Upper), castOf(t, made.Lower, dentition.Lower)
	s, err := settle.Settle(ctx, upper, lower, settle.Options{DoubtUm: 1e4})
	require.NoError(t, err)
	require.True(t, s.Seat.Taken)
	m, err := made.Lower.Mesh.Transform(s.Pose.Apply)
	require.NoError(t, err)
	moved := made.Lower
	moved.Mesh = m
	pair := &casts.Casts{Upper: upper, Scanned: lower, Lower: castOf(t, moved, dentition.Lower), Settling: s}
	pair.Closer, err = contact.NewCloser(ctx, pair.Upper.Arch, pair.Lower.Arch, contact.Options{})
	require.NoError(t, err)
	set, err := c.Settings.Kinematics()
	require.NoError(t, err)
	f := &findings.Findings{Settling: *s}
	r, err := newRun(ctx, frames.NewSetup(c, pair, set, []findings.Foil{40}), f, Options{})
	require.NoError(t, err)
	return r
}

// The seat that a sample finds on gaps that change linearly is that of its bent casts, settled
// exactly: the teeth stand, in root mean square, within a third of how far samples move them, and at
// the same height within 10 µm.
func TestLinearSeatIsTheExactOne(t *testing.T) {
	ctx := context.Background()
	r := seated(t)
	require.True(t, r.pressed)
	moves, off, locked := 0.0, 0.0, 0
	each(r, 3, func(i uint32, d *draw, w *worker) {
		x := r.seat(d, w)
		var copies [2]bentCopy
		upper, err := r.upper.moved(w.field[0], kinematics.Pose{}, &copies[0])
		require.NoError(t, err)
		stands := r.now.frame.Pose(r.now.twist(d.shift, d.turn, r.now.frame.Centre))
		lower, err := r.lower.moved(w.field[1], stands, &copies[1])
		require.NoError(t, err)
		point := stands.Apply(r3.Add(r.point, d.press))
		s, err := settle.Settle(ctx, upper, lower, settle.Options{DoubtUm: 1e4, PressPoint: &point, PressDirection: &r.along})
		require.NoError(t, err)
		if s.Seat == nil || !s.Seat.Locked {
			return
		}
		locked++
		exact, linear := stands.Then(s.Pose.Pose), r.now.frame.Pose(x)
		for _, f := range r.e.Casts.Lower.Frames {
			q, p := exact.Apply(f.Centre), linear.Apply(f.Centre)
			moves, off = moves+r3.Norm2(r3.Sub(q, f.Centre)), off+r3.Norm2(r3.Sub(q, p))
			require.InDelta(t, q.Z, p.Z, 0.01, "sample %d", i)
		}
	})
	require.GreaterOrEqual(t, locked, 2)
	require.Less(t, math.Sqrt(off), math.Sqrt(moves)/3)
}
