package judge

import (
	"slices"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
)

// gauge adds to a finding that is no contact its size.
func (m *Movement) gauge(f *findings.Finding) {
	switch f.Kind {
	case findings.KindUneven:
		if a, ok := m.apart(f); ok {
			um := 1000 * a.mm
			f.Value, f.Unit = &um, "um"
			f.AtMM = m.x.Frames[a.frame].TravelMM
			if c := m.x.Frames[a.frame].Carrier; c != nil {
				p := c.PointMM
				f.PointMM = &p
			}
		}
	case findings.KindKink:
		if k := m.kinkAt(f.AtMM); k != nil {
			f.Value, f.Unit = &k.ChangeDeg, "deg"
			if k.JumpMM != 0 {
				f.Value, f.Unit = &k.JumpMM, "mm"
			}
		}
	case findings.KindLateDisclusion:
		m.gaugeLate(f)
	case findings.KindGuidance:
		if p := m.patternAt(f.AtMM); p != nil && p.ToothDeg != nil {
			f.Value, f.Unit = p.ToothDeg, "deg"
		}
	}
}

// gaugeLate names the posterior teeth that do not disocclude in time, when the last one
// does, if it does, and where one of them touches last up to the edge-to-edge position.
func (m *Movement) gaugeLate(f *findings.Finding) {
	last, all := 0.0, true
	for i := range m.x.Disclusion {
		d := &m.x.Disclusion[i]
		if !m.tooLate(d) {
			continue
		}
		if d.ClearsMM == nil {
			all = false
		} else {
			last = max(last, *d.ClearsMM)
		}
		f.Teeth = append(f.Teeth, d.Tooth)
	}
	if all {
		f.Value, f.Unit = &last, "mm"
	}
	for i := m.End; i >= 0; i-- {
		_, contacts := m.Touching(&m.x.Frames[i])
		for _, c := range contacts {
			if slices.Contains(f.Teeth, c.Upper) || slices.Contains(f.Teeth, c.Lower) {
				p := c.PointMM
				f.Upper, f.Lower, f.PointMM, f.AtMM = c.Upper, c.Lower, &p, m.x.Frames[i].TravelMM
				return
			}
		}
	}
}

// gapOf is how near an upper and a lower tooth come to the opposing arch in a frame, mm.
type gapOf struct {
	upper, lower findings.Part
	mm           float64 // of the upper tooth
	frame        int
}

// apart is how near the anterior teeth of the side that does not carry come to the
// opposing arch while the others carry; ok is false where clearances are not known.
func (m *Movement) apart(f *findings.Finding) (least gapOf, ok bool) {
	side := frames.Known(f.Upper, f.Lower).Side()
	for i := range m.x.Frames {
		fr := &m.x.Frames[i]
		if fr.TravelMM < f.FromMM || fr.TravelMM > f.ToMM {
			continue
		}
		upper, mm := nearest(fr, dentition.Upper, side)
		lower, _ := nearest(fr, dentition.Lower, side)
		if upper != 0 && lower != 0 && (!ok || mm < least.mm) {
			least, ok = gapOf{upper, lower, mm, i}, true
		}
	}
	return least, ok
}

// nearest is the anterior tooth of a jaw beside those of one side that comes nearest to the
// opposing arch in a frame, and how near, in mm; none where no clearance is known.
func nearest(f *findings.Frame, jaw dentition.Jaw, beside dentition.Side) (t findings.Part, mm float64) {
	for k := range dentition.All {
		d, known := f.Clearance(k)
		if known && k.Type().Anterior() && k.Jaw() == jaw && k.Side() != beside && (t == 0 || d < mm) {
			t, mm = findings.Part(k), d
		}
	}
	return t, mm
}

// kinkAt is the kink at a travel, nil for none.
func (m *Movement) kinkAt(mm float64) *findings.Kink {
	for i := range m.x.Smoothness.Kinks {
		if k := &m.x.Smoothness.Kinks[i]; k.TravelMM == mm {
			return k
		}
	}
	return nil
}

// patternAt is the pattern of guidance at a travel within the movement's foil, nil
// for none.
func (m *Movement) patternAt(mm float64) *findings.Pattern {
	for i := range m.x.Guidance.Patterns {
		if p := &m.x.Guidance.Patterns[i]; p.TravelMM == mm && p.FoilUm == m.foil {
			return p
		}
	}
	return nil
}
