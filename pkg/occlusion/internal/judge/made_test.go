package judge

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"gonum.org/v1/gonum/spatial/r3"
)

// The tables of the rules are made of movements by hand, a quarter of a millimetre a frame: what
// is exactly on a threshold is so to the last bit.
const step4 = 0.25

// made is a movement of n frames, each set by a function.
func made(name findings.Movement, n int, set func(i int, f *findings.Frame)) *findings.Excursion {
	x := &findings.Excursion{Movement: name}
	for i := range n {
		f := findings.Frame{TravelMM: step4 * float64(i)}
		set(i, &f)
		x.Frames = append(x.Frames, f)
	}
	return x
}

// pair is upper over lower.
func pair(upper, lower findings.Part) findings.Pair { return findings.Pair{Upper: upper, Lower: lower} }

// touch adds a contact of an area (mm²) within the foil of 40 µm, at a spot whose x is the area.
func touch(f *findings.Frame, p findings.Pair, area float64) {
	f.Contacts = append(f.Contacts, findings.Contact{Upper: p.Upper, Lower: p.Lower, FoilUm: 40, AreaMM2: area, PointMM: findings.Vec{area}})
}

// carry lets a pair stop the closing.
func carry(f *findings.Frame, p findings.Pair) {
	f.Carrier = &findings.Touch{Upper: p.Upper, Lower: p.Lower, PointMM: findings.Vec{f.TravelMM}}
}

// ruled is a movement with thresholds of its own, begun at 0.5 mm and, from end on where that is
// not negative, past the edge-to-edge position.
func ruled(t *testing.T, x *findings.Excursion, end int) *Movement {
	t.Helper()
	c := casefile.Default()
	c.Thresholds.BegunMM = 0.5
	m := newMovement(t, x, c)
	if end >= 0 {
		m.End = end
	}
	return &m
}

// bare are casts without surfaces, whose teeth stand where they are told.
func bare(stand ...anatomy.Frame) *frames.Setup {
	at := func(j dentition.Jaw) *casts.Cast {
		c := &casts.Cast{Jaw: j, Frames: map[dentition.ToothID]anatomy.Frame{}}
		for _, f := range stand {
			if f.Tooth.Jaw() == j {
				c.Frames[f.Tooth] = f
			}
		}
		return c
	}
	return &frames.Setup{Case: casefile.Default(), Casts: &casts.Casts{
		Upper: at(dentition.Upper), Lower: at(dentition.Lower), Incisal: &r3.Vec{}}}
}

// upright is a tooth at the origin, buccal along x.
func upright(t dentition.ToothID) anatomy.Frame {
	f := anatomy.Frame{Tooth: t, Buccal: r3.Vec{X: 1}, Mesial: r3.Vec{Y: -1}, Occlusal: r3.Vec{Z: 1}}
	if t.Jaw() == dentition.Upper {
		f.Occlusal.Z = -1
	}
	return f
}

// moved is a pose that shifts by a way.
func moved(way r3.Vec) findings.Pose { return findings.Pose{Pose: kinematics.Translation(way)} }
