package judge

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"gonum.org/v1/gonum/spatial/r3"
)

// tippedDeg is the angle, in degrees, between a tooth's long axis and that of its twin, or
// else the mean of its neighbours', from which it counts as tipped. Neighbours differ by up
// to 6° in the published inclinations of posterior crowns (Andrews 1972, AJO 62:296-309;
// figures from memory); twins by less.
const tippedDeg = 12.0

// causes lists what in the casts' shape explains an interference.
func (m *Movement) causes(e *frames.Setup, h *Shape, f *findings.Finding) []findings.Cause {
	var out []findings.Cause
	out = append(out, m.steepness(e, f, f.FromMM)...)
	out = append(out, h.standing(f.Upper.Tooth())...)
	out = append(out, h.standing(f.Lower.Tooth())...)
	if m.Working == 0 {
		out = append(out, h.overlap()...)
	}
	return out
}

// steepness tells, at a travel, how steeply the desired guidance takes the lower tooth
// of a finding down and how steeply the upper surface goes down that it meets.
func (m *Movement) steepness(e *frames.Setup, f *findings.Finding, travel float64) []findings.Cause {
	path, incline, ok := m.inclines(e, f, travel)
	if !ok {
		return nil
	}
	return []findings.Cause{
		{Cause: "path_angle", Value: path, Unit: "deg", Text: language.Say("cause.path", language.With{"at": travel, "slope": slope(path)})},
		{Cause: "contact_incline", Value: incline, Unit: "deg", Text: language.Say("cause.incline", language.With{"slope": slope(incline)})},
	}
}

// lateCauses lists what explains that posterior teeth do not disocclude in time: the
// inclines on which they touch last, how those teeth stand, the guidance at hand and, in
// protrusion, how the anterior teeth overlap.
func (m *Movement) lateCauses(e *frames.Setup, h *Shape, f *findings.Finding) []findings.Cause {
	out := m.steepness(e, f, f.AtMM)
	for i := range m.x.Disclusion {
		if d := &m.x.Disclusion[i]; m.tooLate(d) {
			out = append(out, h.standing(d.Tooth.Tooth())...)
		}
	}
	if m.x.Guidance != nil {
		guides := m.x.Guidance.Guides
		k := slices.IndexFunc(guides, func(g findings.Guide) bool { return g.ToothDeg != nil && m.Place(g.Upper, g.Lower).Desired() })
		if k >= 0 {
			g := guides[k]
			out = append(out, findings.Cause{Cause: "guidance_inclination", Value: *g.ToothDeg, Unit: "deg",
				Text: language.Say("cause.guide", language.With{"pair": findings.Pair{Upper: g.Upper, Lower: g.Lower}, "slope": slope(*g.ToothDeg)})})
		}
	}
	if m.Working == 0 {
		out = append(out, h.overlap()...)
	}
	return out
}

// inclines compares, at a travel, the way of the lower tooth with the
// upper surface that it meets, as angles to the horizontal plane in the direction of
// the way, in degrees and above 0 downwards. The way is that of the desired
// guidance. Where the surface goes down more steeply than the way the teeth meet:
// over a horizontal way d the gap changes by d·(tan path − tan incline), the closed
// form of parallel inclines.
func (m *Movement) inclines(e *frames.Setup, f *findings.Finding, travel float64) (path, incline float64, ok bool) {
	i, known := nearestFrame(m.x.Frames, travel)
	if !known || i == 0 {
		return 0, 0, false
	}
	_, contacts := m.Touching(&m.x.Frames[i])
	k := slices.IndexFunc(contacts, func(c *findings.Contact) bool { return c.Pair() == findings.Pair{Upper: f.Upper, Lower: f.Lower} })
	now, err := m.GuidedPose(e, i)
	before, err2 := m.GuidedPose(e, i-1)
	if k < 0 || err != nil || err2 != nil {
		return 0, 0, false
	}
	c := contacts[k]
	spot := m.x.Frames[i].Pose.Inverse().Apply(r3.Vec{X: c.PointMM[0], Y: c.PointMM[1], Z: c.PointMM[2]})
	d := r3.Sub(now.Apply(spot), before.Apply(spot))
	way := math.Hypot(d.X, d.Y)
	if way == 0 || c.Normal[2] <= 0 {
		return 0, 0, false
	}
	path = math.Atan2(-d.Z, way) * 180 / math.Pi
	incline = math.Atan2((c.Normal[0]*d.X+c.Normal[1]*d.Y)/way, c.Normal[2]) * 180 / math.Pi
	return path, incline, true
}

// slope says an angle to the horizontal plane, in degrees and above 0 downwards, in
// words.
func slope(deg float64) findings.Sentence {
	switch deg = math.Round(deg); {
	case deg < 0:
		return language.Say("slope.up", language.With{"deg": -deg})
	case deg == 0:
		return language.Say("slope.level")
	}
	return language.Say("slope.down", language.With{"deg": deg})
}

// GuidedPose is the pose of a frame, or that of the desired guidance where
// something else carries.
func (m *Movement) GuidedPose(e *frames.Setup, i int) (kinematics.Pose, error) {
	f := &m.x.Frames[i]
	if f.Unhindered == nil {
		return f.Pose.Pose, nil
	}
	st, err := e.Set.Station(m.motion, f.TravelMM)
	if err != nil {
		return kinematics.Pose{}, err
	}
	return st.Pose(frames.Degrees(f.Unhindered.OpeningDeg)), nil
}
