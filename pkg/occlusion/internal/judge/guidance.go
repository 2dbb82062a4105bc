package judge

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"gonum.org/v1/gonum/spatial/r3"
)

// guidance describes who carries.
func (m *Movement) guidance(foils []findings.Foil) *findings.Course {
	g := &findings.Course{Stretches: []findings.Stretch{}, Guides: []findings.Guide{}, Patterns: []findings.Pattern{}}
	frames := m.x.Frames
	for i := 0; i < len(frames); {
		j := i
		c := frames[i].Carrier
		for j+1 < len(frames) && j != m.End && c != nil && frames[j+1].Carrier != nil &&
			frames[j+1].Carrier.Pair() == c.Pair() {
			j++
		}
		if c != nil {
			s := findings.Stretch{Upper: c.Upper, Lower: c.Lower, FromMM: frames[i].TravelMM, ToMM: frames[j].TravelMM, PastEdge: i > m.End}
			s.ToothDeg = m.toothInclination(i, j)
			if deg, ok := m.inclination(i, j); ok {
				s.InclinationDeg = &deg
			}
			g.Stretches = append(g.Stretches, s)
		}
		i = j + 1
	}
	g.Guides = m.guides(g.Stretches)
	for _, d := range patternDistances {
		i, ok := m.reached(d)
		if !ok {
			break
		}
		for _, foil := range foils {
			if foil.Um() > m.Limits.TouchUm {
				continue
			}
			at := *m
			at.foil = foil
			class, pairs := at.pattern(&frames[i])
			g.Patterns = append(g.Patterns, findings.Pattern{AtMM: d, TravelMM: frames[i].TravelMM,
				ToothDeg: m.toothInclination(max(0, i-1), min(i+1, len(frames)-1)), FoilUm: foil, Pattern: class, Pairs: pairs, PastEdge: i > m.End})
		}
	}
	if i, ok := m.edgeToEdge(); ok {
		t := frames[i].TravelMM
		g.EdgeToEdgeMM = &t
	}
	return g
}

// guides sums up the stretches of each pair up to the edge-to-edge position, the
// longest first.
func (m *Movement) guides(stretches []findings.Stretch) []findings.Guide {
	out := []findings.Guide{}
	rise := map[findings.Pair][2]float64{} // sum of length times inclination, and of length
	for _, s := range stretches {
		if s.PastEdge {
			continue
		}
		p := findings.Pair{Upper: s.Upper, Lower: s.Lower}
		k := slices.IndexFunc(out, func(g findings.Guide) bool { return findings.Pair{Upper: g.Upper, Lower: g.Lower} == p })
		if k < 0 {
			k = len(out)
			out = append(out, findings.Guide{Upper: s.Upper, Lower: s.Lower})
		}
		out[k].CarryMM += m.span(s.FromMM, s.ToMM)
		if s.ToothDeg != nil {
			n := s.ToMM - s.FromMM
			rise[p] = [2]float64{rise[p][0] + n**s.ToothDeg, rise[p][1] + n}
		}
	}
	for k := range out {
		if r := rise[findings.Pair{Upper: out[k].Upper, Lower: out[k].Lower}]; r[1] > 0 {
			deg := r[0] / r[1]
			out[k].ToothDeg = &deg
		}
	}
	slices.SortStableFunc(out, func(a, b findings.Guide) int { return cmp.Compare(b.CarryMM, a.CarryMM) })
	return out
}

// span is the travel over which samples from one to another stand: to the middles
// of the steps before and after, within the movement.
func (m *Movement) span(from, to float64) float64 {
	frames := m.x.Frames
	i, _ := nearestFrame(frames, from)
	j, _ := nearestFrame(frames, to)
	return (frames[j].TravelMM+frames[min(j+1, m.End)].TravelMM)/2 - (frames[i].TravelMM+frames[max(i-1, 0)].TravelMM)/2
}

// toothInclination is the inclination, in degrees and above 0 downwards, of the
// way of the carrying spot of the lower tooth in frame i from there to frame j:
// in the frontal plane for lateral movements, in the sagittal plane for
// protrusion. Nil where it does not move.
func (m *Movement) toothInclination(i, j int) *float64 {
	c := m.x.Frames[i].Carrier
	if c == nil || i == j { // of one frame only rounding would remain
		return nil
	}
	from, to := m.x.Frames[i].Pose, m.x.Frames[j].Pose
	p := r3.Vec{X: c.PointMM[0], Y: c.PointMM[1], Z: c.PointMM[2]}
	d := r3.Sub(to.Apply(from.Inverse().Apply(p)), p)
	aside := math.Abs(d.X)
	if m.Working == 0 {
		aside = -d.Y
	}
	if aside <= 0 {
		return nil
	}
	deg := math.Atan2(-d.Z, aside) * 180 / math.Pi
	return &deg
}

// reached is the first frame in which the incisal point is as far from rest; ok is false where
// there is none.
func (m *Movement) reached(mm float64) (frame int, ok bool) {
	for i := range m.x.Frames {
		if m.incisalWay(i) >= mm {
			return i, true
		}
	}
	return 0, false
}

// Pattern names what touches in one frame, within the movement's foil.
func (m *Movement) Pattern(f *findings.Frame) findings.PatternClass {
	class, _ := m.pattern(f)
	return class
}

// pattern names what touches in one frame.
func (m *Movement) pattern(f *findings.Frame) (findings.PatternClass, []findings.Sentence) {
	pairs, _ := m.Touching(f)
	names := []findings.Sentence{}
	var canine, incisor, working, other, backs, known int
	for _, p := range pairs {
		names = append(names, language.Only(p))
		known++
		switch m.Place(p.Upper, p.Lower) {
		case frames.Nowhere:
			known--
		case frames.Front, frames.NonworkingFront:
			if p.Upper.Tooth().Type() == dentition.Canine && m.Place(p.Upper, p.Lower) == frames.Front {
				canine++
			} else {
				incisor++
			}
		case frames.WorkingBack:
			working++
		case frames.NonworkingBack:
			other++
		case frames.Back:
			backs++
		}
	}
	slices.SortFunc(names, func(a, b findings.Sentence) int { return strings.Compare(a.String(), b.String()) })
	switch {
	case len(pairs) == 0:
		return findings.NoContact, names
	case known == 0:
		return findings.NotLabelled, names
	case m.Working == 0 && backs > 0 && canine+incisor > 0:
		return findings.Balanced, names
	case m.Working == 0 && backs > 0:
		return findings.PosteriorGuidance, names
	case m.Working == 0:
		return findings.AnteriorGuidance, names
	case other > 0 && canine+incisor+working > 0:
		return findings.Balanced, names
	case other > 0:
		return findings.NonworkingOnly, names
	case working > 0 && canine+incisor+working > 1:
		return findings.GroupFunction, names
	case working > 0:
		return findings.PosteriorGuidance, names
	case incisor == 0:
		return findings.CanineGuidance, names
	case canine > 0:
		return findings.Mixed, names
	}
	return findings.AnteriorGuidance, names
}
