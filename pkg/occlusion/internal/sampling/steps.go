package sampling

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/staircase"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// step is a step of a staircase of closing.
type step = staircase.Step

// deepest is how far below the first touch steps are listed, mm of closing at the spot; as in
// the examination.
const deepest = 1.0

// steps is the staircase of a sample: the pairs that meet, the first first.
func (c *closed) steps(openings, gaps []float64, axis r3.Vec) []step {
	var order []int
	for k, o := range openings {
		if !math.IsInf(o, -1) {
			order = append(order, k)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case openings[a] > openings[b]:
			return -1
		case openings[a] < openings[b]:
			return 1
		}
		return 0
	})
	// The site at which each pair meets.
	at := make([]int, len(c.pairs))
	best := make([]float64, len(c.pairs))
	for k := range at {
		at[k], best[k] = -1, math.Inf(-1)
	}
	for i := range c.sites {
		s := &c.sites[i]
		if rate, ok := s.opens(axis); ok && -gaps[i]/rate > best[s.pair] {
			at[s.pair], best[s.pair] = i, -gaps[i]/rate
		}
	}
	var out []step
	for _, k := range order {
		s := &c.sites[at[k]]
		p := r3.Sub(s.point, axis)
		t := contact.Closing{Opening: s1.Angle(openings[k]), Point: p, Pose: kinematics.RotationX(s1.Angle(openings[k]))}
		if len(out) > 0 && staircase.Way(kinematics.Pose{}, &out[0].Touch, t.Opening) > deepest {
			break
		}
		if n := len(out); n > 0 {
			out[n-1].Height = staircase.Way(kinematics.Pose{}, &out[n-1].Touch, t.Opening)
		}
		out = append(out, step{Upper: c.pairs[k].upper, Lower: c.pairs[k].lower, Touch: t, Normal: r3.Scale(-1, s.normal), Height: math.NaN()})
	}
	return out
}

// readHigh is how many of the first steps stand above the others.
func readHigh(steps []step, doubt float64) int {
	return staircase.Read(kinematics.Pose{}, steps, doubt).High
}

// heightOver is how far (µm) the spot of a step travels to the next pair of other teeth; NaN
// where there is none.
func heightOver(steps []step, k int) float64 {
	s := &steps[k]
	for i := k + 1; i < len(steps); i++ {
		if n := &steps[i]; n.Upper != s.Upper && n.Lower != s.Lower {
			return 1000 * staircase.Way(kinematics.Pose{}, &s.Touch, n.Touch.Opening)
		}
	}
	return math.NaN()
}
