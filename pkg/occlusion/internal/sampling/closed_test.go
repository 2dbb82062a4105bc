package sampling

import (
	"context"
	"math"
	"slices"
	"testing"

	"github.com/cusptrace/cusptrace/internal/sobol"
	"github.com/cusptrace/cusptrace/internal/testcase"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// synthetic is a synthetic pair as scanned, and what its samples share.
func synthetic(t *testing.T) *run {
	ctx := context.Background()
	made := testcase.New(16)
	c := casefile.Default()
	point := func(v r3.Vec) *casefile.Point { return &casefile.Point{v.X, v.Y, v.Z} }
	a := c.Mount.Average
	a.IncisalPoint, a.RightMolar, a.LeftMolar = point(made.Incisal), point(made.Right), point(made.Left)
	scan := func(m *mesh.Mesh, l *dentition.Labels) *casts.Scan {
		teeth, err := l.Triangles(m)
		require.NoError(t, err)
		return &casts.Scan{Mesh: m, Labels: l, Teeth: teeth}
	}
	pair, err := casts.Mount(ctx, c, scan(made.Upper, made.UpperLabels), scan(made.Lower, made.LowerLabels))
	require.NoError(t, err)
	pair.Settling = &findings.Settling{How: "none"}
	pair.Closer, err = contact.NewCloser(ctx, pair.Upper.Arch, pair.Lower.Arch, contact.Options{})
	require.NoError(t, err)
	set, err := c.Settings.Kinematics()
	require.NoError(t, err)
	f := &findings.Findings{Settling: *pair.Settling}
	r, err := newRun(ctx, frames.NewSetup(c, pair, set, []findings.Foil{40}), f, Options{})
	require.NoError(t, err)
	return r
}

// each calls f with some samples.
func each(r *run, n uint32, f func(i uint32, d *draw, w *worker)) {
	w := new(worker)
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

// Gaps that change linearly close as the bent and moved casts do: in samples of every source
// the opening of the first touch errs, in root mean square, by less than a quarter of what it
// is.
func TestLinearGapsCloseAsTheCastsDo(t *testing.T) {
	r := synthetic(t)
	open, off := 0.0, 0.0
	each(r, 12, func(i uint32, d *draw, w *worker) {
		x := r.seat(d, w)
		w.gaps = r.now.distorted(w.gaps, w.field[0], w.field[1])
		r.now.move(w.gaps, x)
		w.open = r.now.openings(w.open, w.gaps, d.axis)
		linear := math.Inf(-1)
		for _, o := range w.open {
			linear = max(linear, o)
		}
		s, err := r.moved(d, x, w)
		require.NoError(t, err)
		exact, err := s.Casts.Closer.Close(kinematics.Pose{}, &w.Close)
		require.NoError(t, err)
		open += 1e6 * exact.Opening.Radians() * exact.Opening.Radians()
		e := linear - exact.Opening.Radians()
		off += 1e6 * e * e
	})
	open, off = math.Sqrt(open/12), math.Sqrt(off/12)
	t.Logf("first touch %.2f mrad open; linear gaps err by %.2f", open, off)
	require.Greater(t, open, 0.3, "the samples open the casts")
	require.Less(t, off, open/4)
}

// Three balls in three grooves towards one point seat in one place. A ball of the lower cast
// that is scanned too high turns the cast about the line through the other two, and a force
// that acts beyond a line of two balls of a cast that stands on four lets it rock to that side.
func TestLinearSeatOfBallsOnAPlate(t *testing.T) {
	c := &closed{}
	down := r3.Vec{Z: -1} // the way in which the lower cast leaves the upper one
	for _, p := range []r3.Vec{{X: -20, Y: -10}, {X: 20, Y: -10}, {Y: -60}} {
		c.sites = append(c.sites, site{normal: down, point: p})
	}
	// Walls on both sides keep the cast in place along the plate.
	for _, n := range []r3.Vec{{X: 1}, {X: -1}, {Y: 1}, {Y: -1}} {
		for _, p := range []r3.Vec{{X: -20, Y: -10}, {X: 20, Y: -10}} {
			c.sites = append(c.sites, site{normal: n, point: p})
		}
	}
	c.measure()
	up, mid := r3.Vec{Z: 1}, r3.Vec{Y: -25}
	gaps := c.gapsNow()
	x, ok := c.seat(gaps, mid, up)
	require.True(t, ok)
	require.InDelta(t, 0, kinematics.NormIn(&c.metric, x), 1e-6)
	gaps[2] = -0.05 // the front ball is 50 µm too high
	x, ok = c.seat(gaps, mid, up)
	require.True(t, ok)
	pose := c.frame.Pose(x)
	require.InDelta(t, -0.05, pose.Apply(r3.Vec{Y: -60}).Z, 1e-4)
	require.InDelta(t, 0, pose.Apply(r3.Vec{X: 20, Y: -10}).Z, 1e-4)
	require.InDelta(t, 0, pose.Apply(r3.Vec{X: -20, Y: -10}).Z, 1e-4)

	// On the two balls behind with gaps of 30 µm at two more in front and behind them.
	rocks := &closed{sites: slices.Clone(c.sites[:2])}
	for _, p := range []r3.Vec{{Y: 20}, {Y: -40}} {
		rocks.sites = append(rocks.sites, site{normal: down, point: p, gap: 0.03})
	}
	rocks.sites = append(rocks.sites, c.sites[3:]...)
	rocks.measure()
	for _, side := range []float64{1, -1} {
		x, ok := rocks.seat(rocks.gapsNow(), r3.Vec{Y: -10 + 5*side}, up)
		require.True(t, ok)
		at := rocks.frame.Pose(x).Apply(r3.Vec{Y: -10 + 30*side})
		require.InDelta(t, 0.03, at.Z, 1e-3, "the side on which it is pressed comes down on its ball")
	}
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
