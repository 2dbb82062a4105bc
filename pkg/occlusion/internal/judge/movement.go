package judge

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
)

// Distances, in mm of the incisal point's way in the horizontal plane, at which
// the pattern of guidance is named: the class changes with distance (Ogawa et al.
// 1998, J Prosthet Dent 80:67-74, with foil at 0.5, 1, 2 and 3 mm).
var patternDistances = [...]float64{0.5, 1, 2, 3}

// Movement is an excursion with what judging it needs.
type Movement struct {
	x       *findings.Excursion
	motion  kinematics.Movement
	Limits  *casefile.Thresholds
	Working dentition.Side         // the side to which the jaw goes; 0 in protrusion
	foil    findings.Foil          // the thickest foil up to touch_um
	folded  map[findings.Part]bool // teeth whose late disclusion other findings tell
	End     int                    // the frame in which the guiding teeth stand edge to edge, else the last
}

// TouchFoil is the thickest foil of the case up to touch_um, or else the thinnest.
func TouchFoil(c *casefile.Case) findings.Foil {
	foils := findings.Foils(c.FoilsUm)
	foil := slices.Min(foils)
	for _, f := range foils {
		if f.Um() <= c.Thresholds.TouchUm {
			foil = max(foil, f)
		}
	}
	return foil
}

// NewMovement returns what judging an excursion needs; an error where its movement is none.
func NewMovement(x *findings.Excursion, c *casefile.Case) (Movement, error) {
	motion, err := x.Movement.Kinematic()
	if err != nil {
		return Movement{}, err
	}
	m := Movement{x: x, motion: motion, Limits: &c.Thresholds, Working: frames.WorkingSide(motion), foil: TouchFoil(c)}
	m.End = len(x.Frames) - 1
	if i, ok := m.edgeToEdge(); ok {
		m.End = i
	}
	return m, nil
}

// Movements returns what judging each of some excursions needs.
func Movements(xs []findings.Excursion, c *casefile.Case) ([]Movement, error) {
	out := make([]Movement, len(xs))
	for i := range xs {
		var err error
		if out[i], err = NewMovement(&xs[i], c); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// Measure adds to the movement who carries, how the posterior teeth disocclude and how
// smooth it is.
func (m *Movement) Measure(foils []findings.Foil) {
	m.x.Disclusion = m.disclusions()
	if len(m.x.Frames) > 0 && m.x.Frames[0].Carrier != nil {
		m.x.Guidance, m.x.Smoothness = m.guidance(foils), m.smoothness()
	}
}

// Place is where a pair of teeth lies as the movement sees it.
func (m *Movement) Place(up, lo findings.Part) frames.Region {
	return frames.RegionOf(m.Working, up, lo)
}

// Touching lists the pairs of teeth that touch in a frame within the movement's
// foil, each once, with their areas.
func (m *Movement) Touching(f *findings.Frame) (pairs []findings.Pair, contacts []*findings.Contact) {
	for i := range f.Contacts {
		c := &f.Contacts[i]
		if c.FoilUm != m.foil {
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
func (m *Movement) incisalWay(i int) float64 {
	f, r := &m.x.Frames[i], &m.x.Frames[0]
	if f.IncisalPoint == nil || r.IncisalPoint == nil {
		return f.TravelMM
	}
	return math.Hypot(f.IncisalPoint[0]-r.IncisalPoint[0], f.IncisalPoint[1]-r.IncisalPoint[1])
}

// inclination is the angle of the incisal point's path between two frames to the
// horizontal plane, in degrees, above 0 where it goes down; ok is false where the
// point is not known or does not move, and beyond the ends of the movement.
func (m *Movement) inclination(i, j int) (deg float64, ok bool) {
	if i < 0 || j >= len(m.x.Frames) {
		return 0, false
	}
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

// risesMM is by how much, in mm, the incisal point rises again beyond the edge-to-edge position;
// our choice, somewhat more than scans are known to.
const risesMM = 0.05

// edgeToEdge is the frame in which the teeth that guide stand edge to edge: where
// the incisal point is lowest, before it rises again by more than risesMM, if
// nothing that interferes held it down. ok is false where it does not rise within
// the movement, or where only posterior teeth carry that should not.
func (m *Movement) edgeToEdge() (frame int, ok bool) {
	low := 0
	for i := range m.x.Frames {
		p, q := guidedPoint(&m.x.Frames[i]), guidedPoint(&m.x.Frames[low])
		if p == nil || q == nil {
			return 0, false
		}
		if p[2] < q[2] {
			low = i
		} else if low > 0 && p[2] > q[2]+risesMM {
			if f := &m.x.Frames[low]; f.Unhindered != nil || f.Carrier == nil || m.Place(f.Carrier.Upper, f.Carrier.Lower).Desired() {
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
