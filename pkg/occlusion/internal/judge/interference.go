package judge

import (
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
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
	beyond      *spell // what the same contact does on beyond the edge-to-edge position, nil for nothing
}

// frames is the frames of what the spell is told by: those in which it carries, if any.
func (s *spell) frames() (from, to int) {
	if s.carries() {
		return s.from, s.to
	}
	return s.first, s.last
}

// carries says whether the pair carries in a frame at least.
func (s *spell) carries() bool { return s.from >= 0 }

// interferences finds the pairs that touch where they should not after the
// movement has begun. What goes on over the edge-to-edge position is one spell with what it
// does beyond it.
func (m *Movement) interferences(e *frames.Setup) []spell {
	var all []*spell
	open := map[findings.Pair]*spell{} // pair → its latest spell
	for i := range m.x.Frames {
		f := &m.x.Frames[i]
		if f.TravelMM < m.Limits.BegunMM {
			continue
		}
		_, contacts := m.Touching(f)
		for _, c := range contacts {
			p := c.Pair()
			touch, carry := m.unwanted(e, f, p, c.CentreMM.R3())
			if touch == "" {
				continue
			}
			s := open[p]
			goesOn := s != nil && i-s.last <= 2 // a gap of one sample is no end
			if over := goesOn && i > m.End && s.first <= m.End; over || !goesOn {
				next := &spell{pair: p, touch: touch, carry: carry, first: i, from: -1, area: -1}
				if over {
					s.beyond = next
				} else {
					all = append(all, next)
				}
				s, open[p] = next, next
			}
			s.last = i
			carries := f.Carrier != nil && f.Carrier.Pair() == p
			if carries {
				if !s.carries() {
					s.from, s.area = i, -1 // what carries shows better than what touches
				}
				s.to = i
			}
			if carries == s.carries() && c.AreaMM2 > s.area {
				s.area, s.best, s.point = c.AreaMM2, i, c.PointMM
			}
		}
	}
	out := make([]spell, len(all))
	for k := range all {
		out[k] = *all[k]
	}
	return out
}

// unwanted says under which kinds a contact of a pair at a spot is reported, as touching and as
// carrying; empty where it is wanted.
func (m *Movement) unwanted(e *frames.Setup, f *findings.Frame, pair findings.Pair, at r3.Vec) (touch, carry findings.Kind) {
	switch m.Place(pair.Upper, pair.Lower) {
	case frames.NonworkingBack:
		return findings.KindNonworkingContact, findings.KindNonworkingInterference
	case frames.Back:
		return findings.KindProtrusiveContact, findings.KindProtrusiveInterference
	case frames.WorkingBack:
		if e.Lingual(f.Pose.Pose, pair.Upper.Tooth(), pair.Lower.Tooth(), at, at) {
			return findings.KindWorkingContact, findings.KindWorkingInterference
		}
	}
	return "", ""
}

// measureHeight finds the frame of a carrying spell in which most is in the way.
func (m *Movement) measureHeight(e *frames.Setup, sp *spell, f *findings.Finding, s *contact.CloserScratch) (err error) {
	frames := m.x.Frames
	h, at := 0.0, sp.best
	for i := sp.from; i <= sp.to; i++ {
		if c := frames[i].Carrier; c == nil || c.Pair() != sp.pair {
			continue
		}
		free := frames[i].Unhindered
		if sp.carry == findings.KindWorkingInterference {
			if free, err = m.withoutLingual(e, i, s); err != nil {
				return err
			}
		}
		if free != nil && free.HeightUm > h {
			h, at = free.HeightUm, i
		}
	}
	p := frames[at].Carrier.PointMM
	f.HeightUm, f.AtMM, f.PointMM = &h, frames[at].TravelMM, &p
	return nil
}

// withoutLingual is how the casts would close in a frame without lingual cusps of
// the working side.
func (m *Movement) withoutLingual(e *frames.Setup, i int, s *contact.CloserScratch) (*findings.Unhindered, error) {
	st, err := e.Set.Station(m.motion, m.x.Frames[i].TravelMM)
	if err != nil {
		return nil, err
	}
	touch, err := e.Casts.Closer.Close(st.Base(), s)
	if err != nil {
		return nil, err
	}
	return e.Unhindered(st, m.Working, &touch, true, s)
}
