package occlusion

import (
	"slices"

	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// Course says which teeth carry a movement: which pair stops the closing at
// each travel.
type Course struct {
	Stretches []Stretch `json:"stretches" jsonschema_description:"which pair of teeth carries, one after the other"`
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
}

// Pattern names the guidance at one distance, by what touches within a foil.
type Pattern struct {
	AtMM     float64      `json:"at_mm" jsonschema_description:"distance of the incisal point from rest in the horizontal plane"`
	TravelMM float64      `json:"travel_mm" jsonschema_description:"travel of the sample at that distance"`
	FoilUm   float64      `json:"foil_um" jsonschema_description:"tolerance within which teeth count as touching"`
	Pattern  PatternClass `json:"pattern"`
	Pairs    []string     `json:"pairs" jsonschema_description:"touching pairs, upper/lower"`
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
	g := &Course{Stretches: []Stretch{}, Patterns: []Pattern{}}
	frames := m.x.Frames
	for i := 0; i < len(frames); {
		j := i
		c := frames[i].Carrier
		for j+1 < len(frames) && c != nil && frames[j+1].Carrier != nil && frames[j+1].Carrier.Upper == c.Upper && frames[j+1].Carrier.Lower == c.Lower {
			j++
		}
		if c != nil {
			s := Stretch{Upper: c.Upper, Lower: c.Lower, FromMM: frames[i].TravelMM, ToMM: frames[j].TravelMM}
			if deg, ok := m.inclination(i, j); ok && j > i {
				s.InclinationDeg = &deg
			}
			g.Stretches = append(g.Stretches, s)
		}
		i = j + 1
	}
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
			g.Patterns = append(g.Patterns, Pattern{AtMM: d, TravelMM: frames[i].TravelMM, FoilUm: foil, Pattern: class, Pairs: pairs})
		}
	}
	if i, ok := m.edgeToEdge(); ok {
		t := frames[i].TravelMM
		g.EdgeToEdgeMM = &t
	}
	return g
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
func (m *movement) pattern(f *Frame) (PatternClass, []string) {
	pairs, _ := m.touching(f)
	names := []string{}
	var canine, incisor, working, other, backs, known int
	for _, p := range pairs {
		names = append(names, p.String())
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
	slices.Sort(names)
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
