package occlusion

import (
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

// Distances, in mm of the incisal point's way in the horizontal plane, at which
// the pattern of guidance is named: the class changes with distance (Ogawa et al.
// 1998, J Prosthet Dent 80:67-74, with foil at 0.5, 1, 2 and 3 mm).
var patternDistances = [...]float64{0.5, 1, 2, 3}

// movement is an excursion with what judging it needs.
type movement struct {
	x       *findings.Excursion
	limits  *casefile.Thresholds
	working dentition.Side // the side to which the jaw goes; 0 in protrusion
	foilUm  float64        // the thickest foil up to touch_um
	end     int            // the frame in which the guiding teeth stand edge to edge, else the last
}

// touchFoil is the thickest foil of the case up to touch_um, or else the thinnest.
func touchFoil(c *casefile.Case) float64 {
	foil := slices.Min(c.FoilsUm)
	for _, f := range c.FoilsUm {
		if f <= c.Thresholds.TouchUm {
			foil = max(foil, f)
		}
	}
	return foil
}

func newMovement(x *findings.Excursion, c *casefile.Case) movement {
	m := movement{x: x, limits: &c.Thresholds, foilUm: touchFoil(c)}
	if mv, err := kinematics.ParseMovement(x.Movement); err == nil {
		m.working = workingSide(mv)
	}
	m.end = len(x.Frames) - 1
	if i, ok := m.edgeToEdge(); ok {
		m.end = i
	}
	return m
}

// measure adds to the movement who carries, how the back teeth come clear and how
// smooth it is.
func (m *movement) measure(foilsUm []float64) {
	m.x.Disclusion = m.disclusions()
	if len(m.x.Frames) > 0 && m.x.Frames[0].Carrier != nil {
		m.x.Guidance, m.x.Smoothness = m.guidance(foilsUm), m.smoothness()
	}
}

// where is the place of a pair of teeth in a movement.
type where int

const (
	nowhere     where = iota // not a pair of teeth
	front                    // incisors and canines
	workingBack              // back teeth of the working side
	otherSide                // back teeth of the nonworking side
	back                     // back teeth in protrusion
	otherFront               // front teeth of the nonworking side
)

// place tells a pair's place by its upper tooth, by the lower one where there is
// no upper. working is the side to which the jaw goes, 0 in protrusion.
func place(working dentition.Side, up, lo findings.Part) where {
	t := known(up, lo)
	switch {
	case t == dentition.NoTooth:
		return nowhere
	case t.Type().Anterior() && working != 0 && t.Side() != working:
		return otherFront
	case t.Type().Anterior():
		return front
	case working == 0:
		return back
	case t.Side() == working:
		return workingBack
	}
	return otherSide
}

// known is the upper tooth of a pair, or the lower one where there is no upper.
func known(up, lo findings.Part) dentition.ToothID {
	if up != 0 {
		return dentition.ToothID(up)
	}
	return dentition.ToothID(lo)
}

func (m *movement) place(up, lo findings.Part) where { return place(m.working, up, lo) }

// desired says whether teeth there may guide: the front teeth, and in lateral
// movements the back teeth of the working side; without labels none is known not
// to.
func (w where) desired() bool { return w != otherSide && w != back }

// workingSide is the side to which the jaw goes, 0 in protrusion.
func workingSide(m kinematics.Movement) dentition.Side {
	switch m {
	case kinematics.Right:
		return dentition.Right
	case kinematics.Left:
		return dentition.Left
	}
	return 0
}

// touching lists the pairs of teeth that touch in a frame within the movement's
// foil, each once, with their areas.
func (m *movement) touching(f *findings.Frame) (pairs []findings.Pair, contacts []*findings.Contact) {
	for i := range f.Contacts {
		c := &f.Contacts[i]
		if c.FoilUm != m.foilUm {
			continue
		}
		p := findings.Pair{Upper: c.Upper, Lower: c.Lower}
		if !slices.Contains(pairs, p) {
			pairs = append(pairs, p)
		}
		contacts = append(contacts, c)
	}
	return pairs, contacts
}

// incisalWay is how far the incisal point has moved in the horizontal plane, in
// mm; the travel where the point is not known.
func (m *movement) incisalWay(i int) float64 {
	f, r := &m.x.Frames[i], &m.x.Frames[0]
	if f.IncisalPoint == nil || r.IncisalPoint == nil {
		return f.TravelMM
	}
	return math.Hypot(f.IncisalPoint[0]-r.IncisalPoint[0], f.IncisalPoint[1]-r.IncisalPoint[1])
}

// inclination is the angle of the incisal point's path between two frames to the
// horizontal plane, in degrees, above 0 where it goes down; ok is false where the
// point is not known or does not move.
func (m *movement) inclination(i, j int) (deg float64, ok bool) {
	p, q := m.x.Frames[i].IncisalPoint, m.x.Frames[j].IncisalPoint
	if p == nil || q == nil {
		return 0, false
	}
	way := math.Hypot(q[0]-p[0], q[1]-p[1])
	if way == 0 {
		return 0, false
	}
	return math.Atan2(p[2]-q[2], way) * 180 / math.Pi, true
}

// edgeToEdge is the frame in which the teeth that guide stand edge to edge: where
// the incisal point is lowest, before it rises again by more than 0.05 mm, if
// nothing that interferes held it down. ok is false where it does not rise within
// the movement, or where only back teeth carry that should not.
func (m *movement) edgeToEdge() (frame int, ok bool) {
	low := 0
	for i := range m.x.Frames {
		p, q := guidedPoint(&m.x.Frames[i]), guidedPoint(&m.x.Frames[low])
		if p == nil || q == nil {
			return 0, false
		}
		if p[2] < q[2] {
			low = i
		} else if low > 0 && p[2] > q[2]+0.05 {
			if f := &m.x.Frames[low]; f.Unhindered != nil || f.Carrier == nil || m.place(f.Carrier.Upper, f.Carrier.Lower).desired() {
				return low, true
			}
			low = i
		}
	}
	return 0, false
}

// guidedPoint is the incisal point where nothing that interferes holds it down.
func guidedPoint(f *findings.Frame) *findings.Vec {
	if f.Unhindered != nil {
		return f.Unhindered.IncisalPoint
	}
	return f.IncisalPoint
}

// title names a movement in words.
func (m *movement) title() string {
	if m.working == 0 {
		return "In protrusion"
	}
	return fmt.Sprintf("In the movement to the %v", m.working)
}
