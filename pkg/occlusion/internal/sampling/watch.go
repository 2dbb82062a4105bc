package sampling

import (
	"errors"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/judge"
)

// sameSpot is how far apart, in mm of travel, a finding and its like in a sample may lie.
const sameSpot = 0.5

// Findings are looked for at stations this far apart, mm, and at every second, fourth or eighth
// of them in stretches with more than a few: what lasts long is met anyhow. All lie on one
// grid, so that findings share closings. Our choice.
const (
	stationMM   = 0.2
	stationMost = 6
)

// outcome is what a sample shows of one finding.
type outcome struct {
	stands, carries, touches bool
	height                   float64 // µm; NaN where there is none
}

// watch is one finding of a movement and where it is looked for.
type watch struct {
	f        *findings.Finding
	x        *findings.Excursion
	motion   kinematics.Movement
	stations []float64
	other    *findings.Excursion // to the other side, for what compares sides
	limit    float64             // mm within which teeth touch
}

// contactKind says whether findings of a kind are about a pair of teeth that touch.
func contactKind(k findings.Kind) bool {
	switch k {
	case findings.KindNonworkingInterference, findings.KindProtrusiveInterference, findings.KindWorkingInterference,
		findings.KindNonworkingContact, findings.KindProtrusiveContact, findings.KindWorkingContact:
		return true
	}
	return false
}

// interferes says whether a kind is of teeth that hold others apart.
func interferes(k findings.Kind) bool {
	return k == findings.KindNonworkingInterference || k == findings.KindProtrusiveInterference || k == findings.KindWorkingInterference
}

// ofWorking says whether a kind is of lingual cusps of the working side.
func ofWorking(k findings.Kind) bool {
	return k == findings.KindWorkingInterference || k == findings.KindWorkingContact
}

// newWatch tells where a finding is looked for; ok is false where it is not.
func newWatch(e *frames.Setup, f *findings.Finding, x *findings.Excursion, all []findings.Excursion) (*watch, bool) {
	motion, err := x.Movement.Kinematic()
	if err != nil || len(x.Frames) == 0 {
		return nil, false
	}
	m, err := judge.NewMovement(x, e.Case)
	if err != nil {
		return nil, false
	}
	w := &watch{f: f, x: x, motion: motion, limit: judge.TouchFoil(e.Case).MM()}
	last := x.Frames[len(x.Frames)-1].TravelMM
	begun := m.Limits.BegunMM
	switch f.Kind {
	case findings.KindLateDisclusion:
		w.stations = append(grid(m.Limits.LateMM, f.ToMM, 4), min(m.Limits.LateMM, f.ToMM), f.ToMM)
	case findings.KindUneven:
		w.stations = grid(begun, x.Frames[m.End].TravelMM, 2)
	case findings.KindShallow:
		for i := range all {
			if n := all[i].Movement; n != x.Movement && n != findings.MovementOf(kinematics.Protrusive) {
				w.other = &all[i]
			}
		}
		if w.other == nil {
			return nil, false
		}
		w.stations = []float64{f.AtMM}
	case findings.KindKink:
		for i := range x.Frames {
			if t := x.Frames[i].TravelMM; math.Abs(t-f.AtMM) <= sameSpot+1e-9 {
				w.stations = append(w.stations, t)
			}
		}
	case findings.KindGuidance:
		w.stations = []float64{f.AtMM}
	default:
		if !contactKind(f.Kind) {
			return nil, false
		}
		from, to := max(begun, f.FromMM-sameSpot), min(last, f.ToMM+sameSpot)
		every := 1
		for (to-from)/(float64(every)*stationMM) > stationMost {
			every *= 2
		}
		w.stations = append(grid(from, to, every), f.AtMM)
	}
	slices.Sort(w.stations)
	w.stations = slices.Compact(w.stations)
	return w, len(w.stations) > 0
}

// grid is the travels of the grid between two, every so many of them.
func grid(from, to float64, every int) []float64 {
	var out []float64
	first := int(math.Ceil(from/stationMM - 1e-9))
	first += (every - first%every) % every
	for k := first; float64(k)*stationMM <= to+1e-9; k += every {
		out = append(out, float64(k)*stationMM)
	}
	return out
}

// sample is one sample while its movements are looked at.
type sample struct {
	*frames.Setup
	s     *frames.Scratch
	free  *contact.CloserScratch // of closings without what interferes
	gaps  *contact.GapScratch
	known map[station]*closing
}

// station is a travel of a movement.
type station struct {
	motion kinematics.Movement
	travel float64
}

// closing is the first touch at a station; ok is false where nothing meets there.
type closing struct {
	st    kinematics.Station
	touch contact.Closing
	pair  pairOf
	ok    bool
}

// at closes the casts at a station, once.
func (s *sample) at(m kinematics.Movement, travel float64) (*closing, error) {
	key := station{m, travel}
	if c, ok := s.known[key]; ok {
		return c, nil
	}
	c := &closing{}
	s.known[key] = c
	var err error
	if c.st, err = s.Set.Station(m, travel); errors.Is(err, kinematics.ErrTravel) {
		return c, nil // the condyles cannot go that way: nothing stands there
	} else if err != nil {
		return nil, err
	}
	c.touch, err = s.Casts.Closer.Close(c.st.Base(), &s.s.Close)
	if errors.Is(err, contact.ErrNoTouch) {
		return c, nil
	} else if err != nil {
		return nil, err
	}
	c.ok = true
	c.pair = pairOf{s.Casts.Upper.Tooth(c.touch.Upper), s.Casts.Lower.Tooth(c.touch.Lower)}
	return c, nil
}

// look is what a sample shows of a finding.
func (s *sample) look(w *watch) (outcome, error) {
	switch {
	case contactKind(w.f.Kind):
		return s.contact(w)
	case w.f.Kind == findings.KindLateDisclusion:
		return s.late(w)
	case w.f.Kind == findings.KindUneven:
		return s.uneven(w)
	case w.f.Kind == findings.KindShallow:
		return s.shallow(w)
	case w.f.Kind == findings.KindKink:
		return s.kink(w)
	}
	return s.guidance(w)
}

// part is the number of a tooth's part in a cast's index; −2, which is none, where it has none.
func part(byPart []dentition.ToothID, t dentition.ToothID) int {
	if k := slices.Index(byPart, t); k > 0 {
		return k
	}
	return -2
}

// contact looks whether a pair carries the movement, and whether it touches.
func (s *sample) contact(w *watch) (outcome, error) {
	out := outcome{height: math.NaN()}
	pair := pairOf{w.f.Upper.Tooth(), w.f.Lower.Tooth()}
	up, lo := part(s.Casts.Upper.ByPart, pair.upper), part(s.Casts.Lower.ByPart, pair.lower)
	var carrying []*closing
	for _, t := range w.stations {
		c, err := s.at(w.motion, t)
		if err != nil {
			return out, err
		}
		switch p := c.touch.Point; {
		case !c.ok:
		case c.pair == pair:
			if !ofWorking(w.f.Kind) || s.Lingual(c.touch.Pose, pair.upper, pair.lower, p, p) {
				carrying = append(carrying, c)
			}
		case !out.touches && carrying == nil:
			g, ok := contact.PartsWithin(s.Casts.Upper.Arch, s.Casts.Lower.Arch, up, lo, c.touch.Pose, w.limit, s.gaps)
			out.touches = ok && (!ofWorking(w.f.Kind) || s.Lingual(c.touch.Pose, pair.upper, pair.lower, g.UpperPoint, g.LowerPoint))
		}
		if carrying != nil && !interferes(w.f.Kind) {
			break
		}
	}
	out.carries = carrying != nil
	out.touches = out.touches && !out.carries
	if out.stands = out.touches; !interferes(w.f.Kind) {
		return out, nil
	}
	out.stands = out.carries
	return out, s.measure(w, carrying, &out)
}

// measure finds how much is in the way: at the carrying station nearest to where it was most,
// and at the last one of the stretch of the finding. It changes slowly with travel, and grows
// beyond the stretch where that ends with teeth edge to edge.
func (s *sample) measure(w *watch, carrying []*closing, out *outcome) error {
	if len(carrying) == 0 {
		return nil
	}
	near, last := carrying[0], carrying[0]
	for _, c := range carrying {
		if math.Abs(c.st.Travel-w.f.AtMM) < math.Abs(near.st.Travel-w.f.AtMM) {
			near = c
		}
		if c.st.Travel <= w.f.ToMM+1e-9 {
			last = c
		}
	}
	for _, c := range slices.Compact([]*closing{near, last}) {
		u, err := s.Unhindered(c.st, frames.WorkingSide(w.motion), &c.touch, ofWorking(w.f.Kind), s.free)
		if err != nil {
			return err
		}
		if u != nil && !(u.HeightUm <= out.height) {
			out.height = u.HeightUm
		}
	}
	return nil
}

// clear says whether a tooth is clear of the opposing arch in a closing.
func (s *sample) clear(t dentition.ToothID, c *closing, limit float64) bool {
	up, lo := contact.WholeArch, contact.WholeArch
	if t.Jaw() == dentition.Upper {
		up = part(s.Casts.Upper.ByPart, t)
	} else {
		lo = part(s.Casts.Lower.ByPart, t)
	}
	_, near := contact.PartsWithin(s.Casts.Upper.Arch, s.Casts.Lower.Arch, up, lo, c.touch.Pose, limit, s.gaps)
	return !near
}

// late looks whether any of the posterior teeth still touches when all should be clear.
func (s *sample) late(w *watch) (outcome, error) {
	out := outcome{height: math.NaN()}
	for _, t := range w.stations {
		c, err := s.at(w.motion, t)
		if err != nil {
			return out, err
		}
		if !c.ok {
			continue
		}
		for _, tooth := range w.f.Teeth {
			if !s.clear(tooth.Tooth(), c, w.limit) {
				out.stands = true
				return out, nil
			}
		}
	}
	return out, nil
}

// unevenBelow is the share of stations from which down one side carries protrusion alone, as
// in the judgement.
const unevenBelow = 0.2

// uneven looks whether the anterior teeth of the same side touch alone.
func (s *sample) uneven(w *watch) (outcome, error) {
	out := outcome{height: math.NaN()}
	var count [2]float64 // of the side, and of the other
	side := frames.Known(w.f.Upper, w.f.Lower).Side()
	for _, t := range w.stations {
		c, err := s.at(w.motion, t)
		if err != nil {
			return out, err
		}
		if !c.ok {
			continue
		}
		var touches [2]bool
		for _, tooth := range s.Casts.Upper.ByPart[1:] {
			k := 0
			if tooth.Side() != side {
				k = 1
			}
			if tooth.Type().Anterior() && !touches[k] {
				touches[k] = !s.clear(tooth, c, w.limit)
			}
		}
		for k, is := range touches {
			if is {
				count[k]++
			}
		}
	}
	out.stands = count[0] > 0 && count[1] < unevenBelow*count[0]
	return out, nil
}

// drop is how far the incisal point goes down to a station, mm, where nothing that interferes
// holds it; ok is false where it is not known.
func (s *sample) drop(m kinematics.Movement, travel float64) (mm float64, ok bool, err error) {
	c, err := s.at(m, travel)
	if err != nil || !c.ok || s.Casts.Incisal == nil {
		return 0, false, err
	}
	pose := c.touch.Pose
	if working := frames.WorkingSide(m); !frames.RegionOf(working, findings.Part(c.pair.upper), findings.Part(c.pair.lower)).Desired() {
		u, err := s.Unhindered(c.st, working, &c.touch, false, s.free)
		if err != nil {
			return 0, false, err
		}
		if u != nil && u.IncisalPoint != nil {
			return s.Casts.Incisal.Z - u.IncisalPoint[2], true, nil
		}
	}
	return s.Casts.Incisal.Z - pose.Apply(*s.Casts.Incisal).Z, true, nil
}

// shallowMM is the difference from which guidance is shallow, as in the judgement.
const shallowMM = 0.5

// shallow compares how deep the movements to both sides go at the same travel.
func (s *sample) shallow(w *watch) (outcome, error) {
	out := outcome{height: math.NaN()}
	this, ok1, err := s.drop(w.motion, w.stations[0])
	if err != nil {
		return out, err
	}
	motion, err := w.other.Movement.Kinematic()
	if err != nil {
		return out, err
	}
	that, ok2, err := s.drop(motion, w.stations[0])
	out.stands = ok1 && ok2 && that-this >= shallowMM
	return out, err
}

// frame is a station as a frame of an excursion, with contacts if asked for.
func (s *sample) frame(m kinematics.Movement, travel float64, contacts bool) (*findings.Frame, error) {
	c, err := s.at(m, travel)
	if err != nil || !c.ok {
		return nil, err
	}
	f := &findings.Frame{TravelMM: travel, OpeningDeg: c.touch.Opening.Degrees(), Pose: findings.Pose{Pose: c.touch.Pose},
		IncisalPoint: s.Incisal(c.touch.Pose), Carrier: &findings.Touch{Upper: findings.Part(c.pair.upper),
			Lower: findings.Part(c.pair.lower), PointMM: findings.VecOf(c.touch.Point)}}
	if contacts {
		f.Contacts, err = s.Contacts(c.touch.Pose, false, s.s)
	}
	return f, err
}

// kink looks for an abrupt change of the guidance near the finding.
func (s *sample) kink(w *watch) (outcome, error) {
	out := outcome{height: math.NaN()}
	x := &findings.Excursion{Movement: w.x.Movement}
	for _, t := range w.stations {
		f, err := s.frame(w.motion, t, false)
		if err != nil {
			return out, err
		}
		if f == nil {
			break
		}
		x.Frames = append(x.Frames, *f)
	}
	if len(x.Frames) == 0 {
		return out, nil
	}
	m, err := judge.NewMovement(x, s.Case)
	if err != nil {
		return out, err
	}
	m.Measure(s.Foils)
	for _, k := range x.Smoothness.Kinks {
		if (k.From.Upper != k.To.Upper || k.From.Lower != k.To.Lower) && (k.JumpMM != 0 || k.ChangeDeg > 0) {
			out.stands = true
		}
	}
	return out, nil
}

// guidance looks whether the same pattern of teeth guides.
func (s *sample) guidance(w *watch) (outcome, error) {
	out := outcome{height: math.NaN()}
	f, err := s.frame(w.motion, w.stations[0], true)
	if err != nil || f == nil {
		return out, err
	}
	m, err := judge.NewMovement(&findings.Excursion{Movement: w.x.Movement, Frames: []findings.Frame{*f}}, s.Case)
	if err != nil {
		return out, err
	}
	out.stands = m.Pattern(f) == w.f.Pattern
	return out, nil
}
