package plan

import (
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"gonum.org/v1/gonum/spatial/r3"
)

// track is the line that a contact of a pair of teeth draws in a movement, on both
// arches, one point a frame.
type track struct {
	pair         findings.Pair
	upper, lower []place
	last         int // the frame of its last point
	end          r3.Vec
}

// trackReach is how far, in mm, a contact may be from where it was a frame before to
// continue its line.
const trackReach = 1.2

// tracks are the lines that contacts within a foil draw over a movement. back takes a
// point of a frame to where it lies on the closed lower arch.
func tracks(x *findings.Excursion, foil findings.Foil, back func(*findings.Frame, r3.Vec) r3.Vec) []*track {
	var out []*track
	for i := range x.Frames {
		fr := &x.Frames[i]
		for k := range fr.Contacts {
			c := &fr.Contacts[k]
			if c.FoilUm != foil {
				continue
			}
			p := c.CentreMM.R3()
			var best *track
			for _, t := range out {
				if t.last == i-1 && t.pair.Upper == c.Upper && t.pair.Lower == c.Lower && r3.Norm(r3.Sub(p, t.end)) < trackReach &&
					(best == nil || r3.Norm(r3.Sub(p, t.end)) < r3.Norm(r3.Sub(p, best.end))) {
					best = t
				}
			}
			if best == nil {
				best = &track{pair: findings.Pair{Upper: c.Upper, Lower: c.Lower}}
				out = append(out, best)
			}
			best.last, best.end = i, p
			best.upper = append(best.upper, seen(dentition.Upper, p))
			best.lower = append(best.lower, seen(dentition.Lower, back(fr, p)))
		}
	}
	return out
}

// Use is what a movement is for a tooth.
type Use string

// The uses of a movement: a tooth works on the side to which the jaw goes.
const (
	Working    Use = "working"
	Nonworking Use = "nonworking"
	Forward    Use = "protrusive"
)

// UseOf is what a movement is for a tooth.
func UseOf(m findings.Movement, t dentition.ToothID) Use {
	switch {
	case m == findings.Protrusive:
		return Forward
	case string(m) == t.Side().String():
		return Working
	}
	return Nonworking
}
