package occlusion

import (
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// spell is a run of frames in which one pair of teeth touches where it should
// not.
type spell struct {
	pair        findings.Pair
	touch       findings.Kind
	carry       findings.Kind
	first, last int // frames in which it touches
	from, to    int // frames in which it carries, from < 0 for none
	area        float64
	best        int // the frame that shows it best
	point       findings.Vec
}

// interferences finds the pairs that touch where they should not after the
// movement has begun.
func (m *movement) interferences(e *examination) []spell {
	var out []spell
	open := map[findings.Pair]int{} // pair → its latest spell
	for i := range m.x.Frames {
		f := &m.x.Frames[i]
		if f.TravelMM < m.limits.BegunMM {
			continue
		}
		_, contacts := m.touching(f)
		for _, c := range contacts {
			touch, carry := m.unwanted(e, f, c)
			if touch == "" {
				continue
			}
			p := findings.Pair{Upper: c.Upper, Lower: c.Lower}
			k, ok := open[p]
			// A gap of one sample is no end, the edge-to-edge position is one.
			if !ok || i-out[k].last > 2 || out[k].touch != touch || (i > m.end) != (out[k].first > m.end) {
				out = append(out, spell{pair: p, touch: touch, carry: carry, first: i, from: -1, area: -1})
				k = len(out) - 1
				open[p] = k
			}
			s := &out[k]
			s.last = i
			carries := f.Carrier != nil && f.Carrier.Upper == c.Upper && f.Carrier.Lower == c.Lower
			if carries {
				if s.from < 0 {
					s.from, s.area = i, -1 // what carries shows better than what touches
				}
				s.to = i
			}
			if (carries || s.from < 0) && c.AreaMM2 > s.area {
				s.area, s.best, s.point = c.AreaMM2, i, c.PointMM
			}
		}
	}
	return out
}

// unwanted says under which kinds a contact is reported, as touching and as
// carrying; empty where it is wanted.
func (m *movement) unwanted(e *examination, f *findings.Frame, c *findings.Contact) (touch, carry findings.Kind) {
	switch m.place(c.Upper, c.Lower) {
	case otherSide:
		return findings.KindNonworkingTouches, findings.KindNonworkingCarries
	case back:
		return findings.KindBackTouches, findings.KindBackCarries
	case workingBack:
		pose, err := kinematics.FromMatrix(f.Pose)
		p := r3.Vec{X: c.CentreMM[0], Y: c.CentreMM[1], Z: c.CentreMM[2]}
		if err == nil && e.lingual(pose, dentition.ToothID(c.Upper), dentition.ToothID(c.Lower), p, p) {
			return findings.KindLingualTouches, findings.KindLingualCarries
		}
	}
	return "", ""
}

// lingual says whether spots p of an upper and q of a lower tooth under a pose lie on
// the lingual half of their teeth, where lingual cusps of the working side meet.
func (e *examination) lingual(pose kinematics.Pose, upper, lower dentition.ToothID, p, q r3.Vec) bool {
	up, ok1 := e.casts.Upper.Frames[upper]
	lo, ok2 := e.casts.Lower.Frames[lower]
	if !ok1 || !ok2 {
		return false
	}
	_, upB, _ := up.Local(p)
	_, loB, _ := lo.Local(pose.Inverse().Apply(q))
	return upB < 0 && loB < 0
}

// middle is the middle of a triangle.
func middle(m *mesh.Mesh, t mesh.TriID) r3.Vec {
	a, b, c := m.Corners(t)
	return r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
}

// unhindered closes the casts at a station where touch stops them: without back
// teeth that should not carry in a movement with a working side and, if asked, also
// without lingual cusps of that side. Nil where nothing else touches.
func (e *examination) unhindered(st kinematics.Station, working dentition.Side, touch *contact.Closing, lingual bool, s *contact.CloserScratch) *findings.Unhindered {
	up, lo := e.casts.Upper, e.casts.Lower
	free, err := e.casts.Closer.CloseWithout(st.Base(), func(u, l mesh.TriID) bool {
		a, b := up.Tooth(u), lo.Tooth(l)
		switch w := place(working, findings.Part(a), findings.Part(b)); {
		case !w.desired():
			return true
		case lingual && w == workingBack:
			return e.lingual(touch.Pose, a, b, middle(up.Mesh(), u), touch.Pose.Apply(middle(lo.Mesh(), l)))
		}
		return false
	}, s)
	if err != nil {
		return nil
	}
	return &findings.Unhindered{
		OpeningDeg: free.Opening.Degrees(), IncisalPoint: e.incisal(free.Pose),
		HeightUm: 1000 * way(touch, st, float64(max(0, touch.Opening-free.Opening))),
	}
}

// measureHeight finds the frame of a carrying spell in which most is in the way.
func (m *movement) measureHeight(e *examination, sp *spell, f *findings.Finding, s *contact.CloserScratch) {
	frames := m.x.Frames
	h, at := 0.0, sp.best
	for i := sp.from; i <= sp.to; i++ {
		if c := frames[i].Carrier; c == nil || c.Upper != sp.pair.Upper || c.Lower != sp.pair.Lower {
			continue
		}
		free := frames[i].Unhindered
		if sp.carry == findings.KindLingualCarries {
			free = m.withoutLingual(e, i, s)
		}
		if free != nil && free.HeightUm > h {
			h, at = free.HeightUm, i
		}
	}
	p := frames[at].Carrier.PointMM
	f.HeightUm, f.AtMM, f.PointMM = &h, frames[at].TravelMM, &p
}

// withoutLingual is how the casts would close in a frame without lingual cusps of
// the working side.
func (m *movement) withoutLingual(e *examination, i int, s *contact.CloserScratch) *findings.Unhindered {
	mv, err := kinematics.ParseMovement(m.x.Movement)
	if err != nil {
		return nil
	}
	st, err := e.set.Station(mv, m.x.Frames[i].TravelMM)
	if err != nil {
		return nil
	}
	touch, err := e.casts.Closer.Close(st.Base(), s)
	if err != nil {
		return nil
	}
	return e.unhindered(st, m.working, &touch, true, s)
}
