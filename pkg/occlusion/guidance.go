package occlusion

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// Course says which teeth carry a movement: which pair stops the closing at
// each travel.
type Course struct {
	Stretches []Stretch `json:"stretches" jsonschema_description:"which pair of teeth carries, one after the other"`
	Guides    []Guide   `json:"guides" jsonschema_description:"pairs of teeth that carry up to the edge-to-edge position, by how long they do"`
	Patterns  []Pattern `json:"patterns" jsonschema_description:"the pattern of guidance at distances of the incisal point from rest"`
	// EdgeToEdgeMM is the travel at which the guiding teeth stand edge to edge:
	// where the incisal point is lowest before it rises again.
	EdgeToEdgeMM *float64 `json:"edge_to_edge_mm" jsonschema_description:"travel at which the guiding teeth stand edge to edge; null where that is not reached"`
}

// Stretch is a part of a movement that one pair of teeth carries.
type Stretch struct {
	Upper  Part    `json:"upper"`
	Lower  Part    `json:"lower"`
	FromMM float64 `json:"from_mm"`
	ToMM   float64 `json:"to_mm"`
	// InclinationDeg is the inclination of the incisal point's path over the
	// stretch to the horizontal plane.
	InclinationDeg *float64 `json:"inclination_deg" jsonschema_description:"inclination of the incisal point's path to the horizontal plane; null for a stretch of one sample or an unknown point"`
	ToothDeg       *float64 `json:"tooth_deg" jsonschema_description:"inclination of the way of the lower tooth, at its touching point, in the frontal plane for lateral movements and the sagittal plane for protrusion; null for a stretch of one sample"`
	PastEdge       bool     `json:"past_edge" jsonschema_description:"it lies past the edge-to-edge position, where stretches are divided"`
}

// Guide is a pair of teeth and how it carries a movement up to the edge-to-edge
// position.
type Guide struct {
	Upper    Part     `json:"upper"`
	Lower    Part     `json:"lower"`
	CarryMM  float64  `json:"carry_mm" jsonschema_description:"travel over which it carries, samples standing for half a step to both sides"`
	ToothDeg *float64 `json:"tooth_deg" jsonschema_description:"inclination of the lower tooth's way, mean over its stretches; null where they have one sample"`
}

// Pattern names the guidance at one distance, by what touches within a foil.
type Pattern struct {
	AtMM     float64      `json:"at_mm" jsonschema_description:"distance of the incisal point from rest in the horizontal plane"`
	TravelMM float64      `json:"travel_mm" jsonschema_description:"travel of the sample at that distance"`
	ToothDeg *float64     `json:"tooth_deg" jsonschema_description:"inclination of the way of the carrying lower tooth there, over a step to both sides; null where it does not move"`
	FoilUm   float64      `json:"foil_um" jsonschema_description:"tolerance within which teeth count as touching"`
	Pattern  PatternClass `json:"pattern"`
	Pairs    []Sentence   `json:"pairs" jsonschema_description:"touching pairs, upper/lower"`
	PastEdge bool         `json:"past_edge" jsonschema_description:"it lies past the edge-to-edge position"`
}

// PatternClass is a name of the trade for what guides. The names follow the
// Glossary of Prosthodontic Terms (9th edition 2017, J Prosthet Dent 117:e1-e105;
// wording from memory): canine guidance, where the canines part the back teeth;
// group function, where several teeth of the working side touch at once; anterior
// guidance, by front teeth; balanced, where both sides touch at once.
type PatternClass string

// The patterns.
const (
	CanineGuidance   PatternClass = "canine guidance"
	GroupFunction    PatternClass = "group function"
	AnteriorGuidance PatternClass = "anterior guidance"
	Balanced         PatternClass = "balanced"
	NonworkingOnly   PatternClass = "nonworking contact only"
	BackTeeth        PatternClass = "back teeth"
	Mixed            PatternClass = "mixed"
	NoContact        PatternClass = "no contact"
	NotLabelled      PatternClass = "not labelled"
)

// guidance describes who carries.
func (m *movement) guidance(foilsUm []float64) *Course {
	g := &Course{Stretches: []Stretch{}, Guides: []Guide{}, Patterns: []Pattern{}}
	frames := m.x.Frames
	for i := 0; i < len(frames); {
		j := i
		c := frames[i].Carrier
		for j+1 < len(frames) && j != m.end && c != nil && frames[j+1].Carrier != nil && frames[j+1].Carrier.Upper == c.Upper && frames[j+1].Carrier.Lower == c.Lower {
			j++
		}
		if c != nil {
			s := Stretch{Upper: c.Upper, Lower: c.Lower, FromMM: frames[i].TravelMM, ToMM: frames[j].TravelMM, PastEdge: i > m.end}
			s.ToothDeg = m.toothInclination(i, j)
			if deg, ok := m.inclination(i, j); ok && j > i {
				s.InclinationDeg = &deg
			}
			g.Stretches = append(g.Stretches, s)
		}
		i = j + 1
	}
	g.Guides = m.guides(g.Stretches)
	for _, d := range patternDistances {
		i := m.reached(d)
		if i < 0 {
			break
		}
		for _, foil := range foilsUm {
			if foil > m.limits.TouchUm {
				continue
			}
			at := *m
			at.foilUm = foil
			class, pairs := at.pattern(&frames[i])
			g.Patterns = append(g.Patterns, Pattern{AtMM: d, TravelMM: frames[i].TravelMM, ToothDeg: m.toothInclination(max(0, i-1), min(i+1, len(frames)-1)), FoilUm: foil, Pattern: class, Pairs: pairs, PastEdge: i > m.end})
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
func (m *movement) guides(stretches []Stretch) []Guide {
	out := []Guide{}
	rise := map[pairOf][2]float64{} // sum of length times inclination, and of length
	for _, s := range stretches {
		if s.PastEdge {
			continue
		}
		p := pairOf{s.Upper, s.Lower}
		k := slices.IndexFunc(out, func(g Guide) bool { return pairOf{g.Upper, g.Lower} == p })
		if k < 0 {
			k = len(out)
			out = append(out, Guide{Upper: s.Upper, Lower: s.Lower})
		}
		out[k].CarryMM += m.span(s.FromMM, s.ToMM)
		if s.ToothDeg != nil {
			n := s.ToMM - s.FromMM
			rise[p] = [2]float64{rise[p][0] + n**s.ToothDeg, rise[p][1] + n}
		}
	}
	for k := range out {
		if r := rise[pairOf{out[k].Upper, out[k].Lower}]; r[1] > 0 {
			deg := r[0] / r[1]
			out[k].ToothDeg = &deg
		}
	}
	slices.SortStableFunc(out, func(a, b Guide) int { return cmp.Compare(b.CarryMM, a.CarryMM) })
	return out
}

// span is the travel over which samples from one to another stand: to the middles
// of the steps before and after, within the movement.
func (m *movement) span(from, to float64) float64 {
	frames := m.x.Frames
	i, j := nearestFrame(frames, from), nearestFrame(frames, to)
	return (frames[j].TravelMM+frames[min(j+1, m.end)].TravelMM)/2 - (frames[i].TravelMM+frames[max(i-1, 0)].TravelMM)/2
}

// toothInclination is the inclination, in degrees and above 0 downwards, of the
// way of the carrying spot of the lower tooth in frame i from there to frame j:
// in the frontal plane for lateral movements, in the sagittal plane for
// protrusion. Nil where it does not move.
func (m *movement) toothInclination(i, j int) *float64 {
	c := m.x.Frames[i].Carrier
	if c == nil || i == j {
		return nil
	}
	from, err1 := kinematics.FromMatrix(m.x.Frames[i].Pose)
	to, err2 := kinematics.FromMatrix(m.x.Frames[j].Pose)
	if err1 != nil || err2 != nil {
		return nil
	}
	p := r3.Vec{X: c.PointMM[0], Y: c.PointMM[1], Z: c.PointMM[2]}
	d := r3.Sub(to.Apply(from.Inverse().Apply(p)), p)
	aside := math.Abs(d.X)
	if m.working == 0 {
		aside = -d.Y
	}
	if aside <= 0 {
		return nil
	}
	deg := math.Atan2(-d.Z, aside) * 180 / math.Pi
	return &deg
}

// reached is the first frame in which the incisal point is as far from rest, −1
// if there is none.
func (m *movement) reached(mm float64) int {
	for i := range m.x.Frames {
		if m.incisalWay(i) >= mm {
			return i
		}
	}
	return -1
}

// pattern names what touches in one frame.
func (m *movement) pattern(f *Frame) (PatternClass, []Sentence) {
	pairs, _ := m.touching(f)
	names := []Sentence{}
	var canine, incisor, working, other, backs, known int
	for _, p := range pairs {
		names = append(names, say("%s", p))
		known++
		switch m.place(p.upper, p.lower) {
		case nowhere:
			known--
		case front, otherFront:
			if dentition.ToothID(p.upper).Type() == dentition.Canine && m.place(p.upper, p.lower) == front {
				canine++
			} else {
				incisor++
			}
		case workingBack:
			working++
		case otherSide:
			other++
		case back:
			backs++
		}
	}
	slices.SortFunc(names, func(a, b Sentence) int { return strings.Compare(a.String(), b.String()) })
	switch {
	case len(pairs) == 0:
		return NoContact, names
	case known == 0:
		return NotLabelled, names
	case m.working == 0 && backs > 0 && canine+incisor > 0:
		return Balanced, names
	case m.working == 0 && backs > 0:
		return BackTeeth, names
	case m.working == 0:
		return AnteriorGuidance, names
	case other > 0 && canine+incisor+working > 0:
		return Balanced, names
	case other > 0:
		return NonworkingOnly, names
	case working > 0 && canine+incisor+working > 1:
		return GroupFunction, names
	case working > 0:
		return BackTeeth, names
	case canine > 0 && incisor == 0:
		return CanineGuidance, names
	case canine > 0:
		return Mixed, names
	}
	return AnteriorGuidance, names
}
