package wear

import (
	"cmp"
	"context"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/facet"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/judge"
	"gonum.org/v1/gonum/spatial/r3"
)

// What explains a facet. Where no source is named, the value is our choice.
const (
	// facetSlide is the angle, in degrees, up to which a slide lies in a facet's
	// plane, and facets that meet are parallel (common practice, 10 to 15°, no
	// source).
	facetSlide = 15.0
	// facetNear is how near, in mm, the opposing surface must pass: what both
	// facets have lost, and what something else may hold the casts open.
	facetNear = 0.6
	// facetFar is how far beside each other, in mm, patches that a movement lays on
	// each other may lie in intercuspation; our choice.
	facetFar = 10.0
	// facetWay is how long, in mm, a slide must lie in the plane.
	facetWay = 0.2
	// facetAlike is the difference of angles, in degrees, up to which two
	// movements explain a facet alike.
	facetAlike = 4.0
	// facetEdge is the mean edge of the teeth, in mm, up to which a scan shows
	// facets: on synthetic dentitions of 0.44 all above 0.4 mm² are found, of which
	// 20 µm of noise hide a third.
	facetEdge = 0.45
	// facetSpots bounds the spots of a facet that are followed.
	facetSpots = 8
)

// meanEdge is the mean edge, in mm, of the labelled triangles, and whether it is too coarse to show
// facets.
func meanEdge(c *casts.Cast) (mm float64, coarse bool) {
	sum, n := 0.0, 0.0
	m := c.Mesh()
	for i, t := range m.Triangles() {
		if c.Teeth[i] != dentition.NoTooth {
			for k := range t {
				sum += r3.Norm(r3.Sub(m.Vertex(t[k]), m.Vertex(t[(k+1)%3])))
			}
			n += 3
		}
	}
	mm = sum / max(1, n)
	return mm, mm > facetEdge
}

// foundFacet is a wear facet and its patch on the cast in intercuspation.
type foundFacet struct {
	findings.WearFacet
	at facet.Facet
}

// Measure adds the wear facets of both casts and what would grind them, by teeth.
func Measure(ctx context.Context, e *frames.Setup, f *findings.Findings, workers int) error {
	var all []foundFacet
	for _, c := range [2]*casts.Cast{e.Casts.Upper, e.Casts.Lower} {
		if c.Teeth == nil {
			continue
		}
		if edge, coarse := meanEdge(c); coarse {
			f.Warnings = append(f.Warnings, language.Say("input.coarse", language.With{
				"jaw": language.Say("jaw.word." + c.Jaw.String()), "edge": edge, "most": facetEdge}))
			continue
		}
		found, err := facet.Find(ctx, c.Whole, c.Labels, facet.Options{Least: facet.FacetPaired, Workers: workers})
		if err != nil {
			return err
		}
		for _, f := range found {
			all = append(all, newWearFacet(f, c.Frames[f.Tooth]))
		}
	}
	courses := make([]passage, len(f.Excursions))
	for i := range courses {
		var err error
		if courses[i], err = passageOf(e, &f.Excursions[i]); err != nil {
			return err
		}
	}
	facets := worn(all, courses)
	f.Facets = make([]findings.WearFacet, len(facets))
	return par.Chunks(ctx, len(facets), 1, workers, func(_, k, _ int) error {
		for i := range courses {
			if s, ok := slide(e, &facets[k], &courses[i]); ok {
				facets[k].Slides = append(facets[k].Slides, s)
			}
		}
		explainFacet(&facets[k].WearFacet)
		f.Facets[k] = facets[k].WearFacet
		return nil
	})
}

// worn keeps what is sharp enough to be a facet by itself or has an opposing patch
// that lies on it, numbers it, and names its partner.
func worn(all []foundFacet, courses []passage) []foundFacet {
	var out []foundFacet
	number := make([]int, len(all))
	partners := make([]meeting, len(all))
	last := map[findings.Part]int{}
	for k := range all {
		f := &all[k]
		partners[k] = meet(f, all, courses)
		if f.at.Sharpness >= facet.FacetAlone || partners[k].of >= 0 {
			last[f.Tooth]++
			number[k] = last[f.Tooth]
		}
	}
	for k := range all {
		if number[k] == 0 {
			continue
		}
		f := all[k]
		f.Number = number[k]
		if m := partners[k]; m.of >= 0 { // who has a partner is its partner's as well
			f.Partner = &m.match
			f.Partner.Number = number[m.of]
		}
		out = append(out, f)
	}
	return out
}

// passage is a movement as facets are followed through it.
type passage struct {
	*findings.Excursion
	poses []kinematics.Pose
}

// passageOf is the movement as its desired guidance would run it: teeth that carry and
// should not hold the casts open, and have not ground the facets of others.
func passageOf(e *frames.Setup, x *findings.Excursion) (passage, error) {
	w := passage{Excursion: x}
	m, err := judge.NewMovement(x, e.Case)
	if err != nil {
		return w, err
	}
	for i := range x.Frames {
		p, err := m.GuidedPose(e, i)
		if err != nil {
			return w, err
		}
		w.poses = append(w.poses, p)
	}
	return w, nil
}

// moved is the way of a spot of the lower arch at frame i: the difference of the
// neighbouring poses.
func (w *passage) moved(i int, spot r3.Vec) r3.Vec {
	return r3.Sub(w.poses[min(i+1, len(w.poses)-1)].Apply(spot), w.poses[max(i-1, 0)].Apply(spot))
}

func newWearFacet(f facet.Facet, tooth anatomy.Frame) foundFacet {
	w := findings.WearFacet{Tooth: findings.Part(f.Tooth), CentreMM: findings.VecOf(f.Centre),
		Normal: findings.VecOf(f.Normal), AreaMM2: f.Area,
		FlatnessUm: 1000 * f.RMS, RimDeg: f.Rim.Degrees(), Slides: []findings.Slide{}, GroundBy: []findings.Movement{}}
	w.DipDeg = frames.AngleDeg(f.Normal, r3.Vec{Z: math.Copysign(1, f.Normal.Z)})
	w.DirectionDeg = math.Atan2(r3.Dot(f.Normal, tooth.Buccal), r3.Dot(f.Normal, tooth.Mesial)) * 180 / math.Pi
	return foundFacet{w, f}
}

// slide follows a facet through a movement: the stretch in which the opposing
// surface is near any of its spots, from the first such frame to the last before
// it leaves.
func slide(e *frames.Setup, f *foundFacet, x *passage) (findings.Slide, bool) {
	upper := f.at.Tooth.Jaw() == dentition.Upper
	own, other := e.Casts.Lower, e.Casts.Upper
	if upper {
		own, other = other, own
	}
	spots := []r3.Vec{f.at.Centre}
	for step, i := max(1, len(f.at.Vertices)/facetSpots), 0; i < len(f.at.Vertices); i += step {
		spots = append(spots, own.Mesh().Vertex(f.at.Vertices[i]))
	}
	s := findings.Slide{Movement: x.Movement, GapUm: math.Inf(1)}
	var steps []bit
	for i, p := range x.poses {
		to := p
		if upper {
			to = p.Inverse()
		}
		near := math.Inf(1)
		for _, q := range spots {
			if h, ok := other.Index.Nearest(to.Apply(q), min(near, facetNear)); ok {
				near = h.Dist
				if 1000*near < s.GapUm {
					s.GapUm, s.Over = 1000*near, findings.Part(other.Tooth(h.Tri))
				}
			}
		}
		if math.IsInf(near, 1) {
			if s.WayMM > 0 {
				break
			}
			continue
		}
		// The spot of the lower arch at the centre, and the plane where it is.
		spot, n := f.at.Centre, p.Rotate(f.at.Normal)
		if upper {
			spot, n = to.Apply(f.at.Centre), f.at.Normal
		}
		v := x.moved(i, spot)
		way := r3.Norm(v) / 2
		if i == 0 || i == len(x.poses)-1 {
			way *= 2
		}
		if way == 0 {
			continue
		}
		if s.WayMM == 0 {
			s.FromMM = x.Frames[i].TravelMM
		}
		s.ToMM = x.Frames[i].TravelMM
		s.WayMM += way
		steps = append(steps, bit{way, offPlane(v, n)})
	}
	if s.WayMM == 0 {
		return s, false
	}
	s.AngleDeg = leastAngle(steps)
	return s, true
}

// bit is a part of a slide: its length, mm, and its angle to the plane, degrees.
type bit struct{ way, deg float64 }

// leastAngle is the least mean angle of a stretch of facetWay, or that of the
// whole slide where it is shorter.
func leastAngle(steps []bit) float64 {
	least := math.Inf(1)
	way, sum, from := 0.0, 0.0, 0
	for _, s := range steps {
		way, sum = way+s.way, sum+s.way*s.deg
		for way-steps[from].way >= facetWay {
			way, sum = way-steps[from].way, sum-steps[from].way*steps[from].deg
			from++
		}
		if way >= facetWay {
			least = min(least, sum/way)
		}
	}
	if math.IsInf(least, 1) {
		return sum / way
	}
	return least
}

// explainFacet names the movements whose slide lies in the facet's plane, best first.
func explainFacet(f *findings.WearFacet) {
	var fit []findings.Slide
	for _, s := range f.Slides {
		if s.AngleDeg <= facetSlide && s.WayMM >= facetWay {
			fit = append(fit, s)
		}
	}
	slices.SortStableFunc(fit, func(a, b findings.Slide) int { return cmp.Compare(a.AngleDeg, b.AngleDeg) })
	for _, s := range fit {
		if s.AngleDeg <= fit[0].AngleDeg+facetAlike {
			f.GroundBy = append(f.GroundBy, s.Movement)
		}
	}
}

// meeting is an opposing patch that lies on a facet: its place in the list, −1 for
// none, and how they meet.
type meeting struct {
	of    int
	match findings.FacetMatch
}

// meet looks for the opposing patch that lies on a facet at some travel of the
// movements while the slide lies in both planes, most nearly parallel. Both
// together must be sharp enough.
func meet(f *foundFacet, all []foundFacet, courses []passage) meeting {
	best := meeting{of: -1}
	for k := range all {
		g := &all[k]
		if g.at.Tooth.Jaw() == f.at.Tooth.Jaw() || f.at.Sharpness+g.at.Sharpness < facet.FacetTogether {
			continue
		}
		up, lo := &f.at, &g.at
		if up.Tooth.Jaw() != dentition.Upper {
			up, lo = lo, up
		}
		reach := math.Sqrt(up.Area/math.Pi) + math.Sqrt(lo.Area/math.Pi)
		if r3.Norm(r3.Sub(up.Centre, lo.Centre)) > reach+facetFar {
			continue // no movement brings them together
		}
		for i := range courses {
			w := &courses[i]
			for j, p := range w.poses {
				d := r3.Sub(p.Apply(lo.Centre), up.Centre)
				if h := r3.Dot(d, up.Normal); math.Abs(h) > facetNear || r3.Norm2(d)-h*h > reach*reach {
					continue
				}
				n := p.Rotate(lo.Normal)
				deg := 180 - frames.AngleDeg(up.Normal, n)
				if deg > facetSlide || best.of >= 0 && deg >= best.match.AngleDeg { // mutants: same >: a measured angle never is the border
					continue
				}
				if v := w.moved(j, lo.Centre); max(offPlane(v, up.Normal), offPlane(v, n)) <= facetSlide { // mutants: same, likewise
					best = meeting{k, findings.FacetMatch{Tooth: g.Tooth, AngleDeg: deg, Movement: w.Movement, TravelMM: w.Frames[j].TravelMM}}
				}
			}
		}
	}
	return best
}

// offPlane is the angle, in degrees, of a way to the plane across n.
func offPlane(v, n r3.Vec) float64 {
	if r3.Norm(v) == 0 {
		return 90
	}
	return math.Abs(90 - frames.AngleDeg(v, n))
}
