package sampling

import (
	"context"
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/sobol"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/staircase"
	"github.com/cusptrace/cusptrace/pkg/settle"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// synthetic is a synthetic pair in a relation, and what its samples share.
func synthetic(t *testing.T, how casefile.SettleTo) *run {
	ctx := context.Background()
	made, err := typodont.Generate(ctx, typodont.Params{Triangles: 20000})
	require.NoError(t, err)
	c := made.CaseFile()
	scan := func(a typodont.Arch) *casts.Scan {
		teeth, err := a.Labels.Triangles(a.Mesh)
		require.NoError(t, err)
		return &casts.Scan{Mesh: a.Mesh, Labels: a.Labels, Teeth: teeth}
	}
	pair, err := casts.Mount(ctx, c, scan(made.Upper), scan(made.Lower))
	require.NoError(t, err)
	pair.Settling, err = settle.Settle(ctx, pair.Upper, pair.Scanned, settle.Options{How: how})
	require.NoError(t, err)
	if how == casefile.SettleSeat {
		require.True(t, pair.Settling.Seat.Taken)
		m, err := pair.Scanned.Mesh().Transform(pair.Settling.Pose.Apply)
		require.NoError(t, err)
		lower := *pair.Scanned
		lower.Arch, err = pair.Scanned.Arch.Moved(m)
		require.NoError(t, err)
		pair.Lower = &lower
	}
	pair.Closer, err = contact.NewCloser(ctx, pair.Upper.Arch, pair.Lower.Arch, contact.Options{})
	require.NoError(t, err)
	set, err := c.Settings.Kinematics()
	require.NoError(t, err)
	f := &findings.Findings{Settling: *pair.Settling}
	r, err := newRun(ctx, frames.NewSetup(c, pair, set, []findings.Foil{40}), f, Options{RepeatedUm: [2]float64{math.NaN(), math.NaN()}})
	require.NoError(t, err)
	return r
}

// each calls f with some samples.
func each(r *run, n uint32, f func(i uint32, d *draw, w *worker)) {
	w := newWorker()
	var u [factors]float64
	for i := range n {
		r.sequence.Point(i, u[:])
		d := r.src.draw(&u)
		for k, sigma := range [2]float64{r.src.upperDrift, r.src.lowerDrift} {
			w.field[k] = r.modes[k].Field(w.field[k], sigma, d.scans[k][:])
		}
		f(i, d, w)
	}
}

// Gaps that change linearly close as the bent and moved casts do: the first touch about the
// hinge of the sample lies within 5 µm of where the exact closing of the whole surfaces finds
// it, for samples of every source that move the molars by some 70 µm.
func TestLinearGapsCloseAsTheCastsDo(t *testing.T) {
	r := synthetic(t, casefile.SettleNone)
	sum, n := 0.0, 0.0
	each(r, 12, func(i uint32, d *draw, w *worker) {
		out := &result{}
		x := r.asExamined(d, out, w)
		linear := math.Inf(-1)
		for _, o := range w.open {
			linear = max(linear, o)
		}
		s, err := r.moved(d, x, w)
		require.NoError(t, err)
		exact, err := s.Casts.Closer.Close(kinematics.Pose{}, &w.Close)
		require.NoError(t, err)
		at := staircase.Way(kinematics.Pose{}, &exact, 0) // how far from closed
		off := 1000 * math.Abs(staircase.Way(kinematics.Pose{}, &exact, exact.Opening+1e-3)/1e-3*(linear-exact.Opening.Radians()))
		require.Less(t, off, 5.0, "sample %d: %.4f mm open", i, at)
		sum, n = sum+1000*at, n+1
	})
	require.Greater(t, sum/n, 20.0, "the samples move the casts")
}

// Pressed on linear gaps casts seat where the exact search seats the bent ones, within a
// quarter of how far they come, at every corner of the occlusal table.
func TestLinearGapsSeatAsTheCastsDo(t *testing.T) {
	r := synthetic(t, casefile.SettleSeat)
	ctx := context.Background()
	far, off := 0.0, 0.0
	each(r, 4, func(i uint32, d *draw, w *worker) {
		d.press, d.axis, d.hinge = r3.Vec{}, r3.Vec{}, kinematics.Pose{}
		x := r.asExamined(d, &result{}, w)
		up, err := r.upper.moved(w.field[0], kinematics.Pose{})
		require.NoError(t, err)
		lo, err := r.lower.moved(w.field[1], kinematics.Pose{})
		require.NoError(t, err)
		s, err := settle.Settle(ctx, up, lo, settle.Options{DoubtUm: 2000, PressPoint: &r.point, PressDirection: &r.along})
		require.NoError(t, err)
		require.True(t, s.Seat.Taken)
		box := lo.Mesh().Bounds()
		for _, p := range []r3.Vec{{X: box.Min.X, Y: box.Max.Y, Z: box.Max.Z}, {X: box.Max.X, Y: box.Max.Y, Z: box.Max.Z},
			{Y: box.Min.Y, Z: box.Max.Z}} {
			a, b := r.now.frame.Pose(x).Apply(p), s.Pose.Apply(p)
			far += r3.Norm2(r3.Sub(b, p))
			off += r3.Norm2(r3.Sub(b, a))
		}
	})
	far, off = 1000*math.Sqrt(far/12), 1000*math.Sqrt(off/12)
	t.Logf("seats lie %.0f µm away; linear ones miss them by %.0f µm", far, off)
	require.Greater(t, far, 10.0)
	require.Less(t, off, far/4)
}

// The seeds of two runs are the same, and so are their samples: common random numbers.
func TestSamplesDependOnTheSeedAlone(t *testing.T) {
	var a, b, c [factors]float64
	sobol.New(factors, 9).Point(17, a[:])
	sobol.New(factors, 9).Point(17, b[:])
	sobol.New(factors, 10).Point(17, c[:])
	require.Equal(t, a, b)
	require.NotEqual(t, a, c)
}
