package judge

import (
	"math"
	"strconv"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
)

// disclusions lists the posterior teeth of both arches.
func (m *Movement) disclusions() []findings.Disclusion {
	out := []findings.Disclusion{}
	frames := m.x.Frames
	if len(frames) == 0 {
		return out
	}
	for t := range dentition.All {
		if _, ok := frames[0].Clearance(t); !ok || t.Type().Anterior() {
			continue
		}
		d := findings.Disclusion{Tooth: findings.Part(t), ClearanceMM: map[string]float64{}}
		clearance := func(i int) float64 { mm, _ := frames[i].Clearance(t); return mm }
		last := m.End + 1 // the first frame of the run of clear ones up to there
		for last > 0 && 1000*clearance(last-1) > m.foil.Um() {
			last--
		}
		if last <= m.End {
			at := frames[last].TravelMM
			d.ClearsMM, d.Immediate = &at, at <= m.Limits.BegunMM
		}
		for _, mm := range [...]float64{1, 2, 3} {
			if i, ok := nearestFrame(frames, mm); ok {
				d.ClearanceMM[strconv.FormatFloat(mm, 'g', -1, 64)] = clearance(i)
			}
		}
		if i, ok := m.edgeToEdge(); ok {
			d.ClearanceMM["edge"] = clearance(i)
		}
		d.ClearanceMM["end"] = clearance(len(frames) - 1)
		out = append(out, d)
	}
	return out
}

// nearestFrame is the frame nearest to a travel, of two the first; ok is false where the
// movement ends before.
func nearestFrame(frames []findings.Frame, mm float64) (best int, ok bool) {
	if len(frames) == 0 || frames[len(frames)-1].TravelMM < mm {
		return 0, false
	}
	for i := range frames {
		if math.Abs(frames[i].TravelMM-mm) < math.Abs(frames[best].TravelMM-mm) {
			best = i
		}
	}
	return best, true
}

// smoothness judges the path of the incisal point.
func (m *Movement) smoothness() *findings.Smoothness {
	s := &findings.Smoothness{Kinks: []findings.Kink{}}
	frames := m.x.Frames
	for i := 1; i < len(frames); i++ {
		if a, b := frames[i-1].Carrier, frames[i].Carrier; a != nil && b != nil && a.Pair() != b.Pair() {
			s.Switches++
		}
	}
	if m.Working == 0 {
		s.Evenness = m.evenness()
	}
	turning, way := 0.0, 0.0
	for i := range frames {
		if deg, ok := m.turn(i); ok {
			turning += math.Abs(deg)
			way += distance(frames[i].IncisalPoint, frames[i+1].IncisalPoint)
		}
	}
	told := -1 // the sample whose turn belongs to the kink before it
	for i := range frames {
		deg, ok := m.turn(i)
		rest := m.otherHalf(i)
		if !ok || i == told || frames[i].Carrier == nil || frames[i+1].Carrier == nil || math.Abs(deg+rest) < m.Limits.KinkDeg {
			continue
		}
		k := findings.Kink{TravelMM: frames[i].TravelMM, ChangeDeg: deg + rest, From: *frames[i].Carrier, To: *frames[i+1].Carrier}
		if rest == 0 {
			k.JumpMM = m.jump(i)
		}
		if rest != 0 || k.JumpMM != 0 { // the bend back belongs to the same jump
			told = i + 1
		}
		s.Kinks = append(s.Kinks, k)
	}
	if way > 0 {
		t := turning / way
		s.TurningDegPerMM = &t
	}
	return s
}

// turn is the change of the incisal path's inclination at sample i, in degrees; 0 and not ok
// where that is not known.
func (m *Movement) turn(i int) (deg float64, ok bool) {
	before, ok1 := m.inclination(i-1, i)
	after, ok2 := m.inclination(i, i+1)
	if !ok1 || !ok2 {
		return 0, false
	}
	return after - before, true
}

// otherHalf is the part of a bend at sample i that the next sample shows, in
// degrees: a bend that lies between two samples turns the path at both. It is 0
// where the path goes on turning before and after, as a curve does.
func (m *Movement) otherHalf(i int) float64 {
	before, _ := m.turn(i - 1)
	here, _ := m.turn(i)
	next, _ := m.turn(i + 1)
	after, _ := m.turn(i + 2)
	return half(before, here, next, after)
}

// half is the part of a bend that the second of two samples shows, from the turns at the samples
// before, of both and after.
func half(before, here, next, after float64) float64 {
	if here*next <= 0 || math.Abs(before)+math.Abs(after) > math.Abs(here+next)/2 || math.Abs(here) < math.Abs(after) {
		return 0 // a curve, or the next two samples show the bend
	}
	return next
}

// jump is how far the incisal point leaps from sample i to the next, in mm and down
// above 0, where its path turns there: a steep step between two stretches that would not meet.
// 0 for a bend.
func (m *Movement) jump(i int) float64 {
	frames := m.x.Frames
	before, _ := m.inclination(i-1, i)
	after, _ := m.inclination(i, i+1)
	next, ok := m.inclination(i+1, i+2)
	if !ok || (after-before)*(next-after) >= 0 {
		return 0
	}
	step := frames[i].IncisalPoint[2] - frames[i+1].IncisalPoint[2]
	flat := m.incisalWay(i+1) - m.incisalWay(i)
	if d := step - flat*math.Tan((before+next)/2*math.Pi/180); math.Abs(d) > m.Limits.JumpMM {
		return d
	}
	return 0
}

func distance(p, q *findings.Vec) float64 {
	return math.Sqrt((p[0]-q[0])*(p[0]-q[0]) + (p[1]-q[1])*(p[1]-q[1]) + (p[2]-q[2])*(p[2]-q[2]))
}

// evenness compares the numbers of samples in which anterior teeth of each side
// touch, from where the movement has begun to the edge-to-edge position; nil where
// none do.
func (m *Movement) evenness() *float64 {
	count := map[dentition.Side]float64{}
	for i := range m.x.Frames[:m.End+1] {
		f := &m.x.Frames[i]
		if f.TravelMM < m.Limits.BegunMM {
			continue
		}
		touches := map[dentition.Side]bool{}
		pairs, _ := m.Touching(f)
		for _, p := range pairs {
			if m.Place(p.Upper, p.Lower) == frames.Front {
				touches[frames.Known(p.Upper, p.Lower).Side()] = true
			}
		}
		for side := range touches {
			count[side]++
		}
	}
	right, left := count[dentition.Right], count[dentition.Left]
	if right+left == 0 {
		return nil
	}
	e := min(right, left) / max(right, left)
	return &e
}
