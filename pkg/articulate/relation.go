package articulate

import (
	"fmt"
	"math"
	"strings"

	"github.com/cusptrace/cusptrace/internal/interlock"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

// classAhead is how far, in mm, the middle of a lower tooth stands before that of the
// same upper tooth in class I; crossedBy how far inside the middle of the lower tooth
// the upper one stands in a crossbite, where the buccal cusps have changed sides. Our
// choice, after handbook drawings.
const (
	classAhead = 3.0
	crossedBy  = 1.5
)

// relationOf measures two arches under a pose of the lower one.
func relationOf(upper, lower *interlock.Arch, pose kinematics.Pose) (r findings.ToothRelation) {
	var n [2]float64
	for _, l := range lower.Teeth {
		u, ok := upper.Tooth(l.ID.Counterpart())
		k := l.ID.Type()
		if !ok || k < dentition.Canine || k > dentition.SecondMolar {
			continue
		}
		at := pose.Apply(l.Centre)
		side, out := 0, at.X-u.Centre.X // how far the upper one stands outside
		if l.ID.Side() == dentition.Left {
			side, out = 1, u.Centre.X-at.X
		}
		if k > dentition.Canine && out < -crossedBy {
			r.Crossed = append(r.Crossed, u.ID)
		}
		if k <= dentition.FirstMolar {
			r.Ahead[side], n[side] = r.Ahead[side]+u.Centre.Y-at.Y-classAhead, n[side]+1
		}
	}
	if r.Sides = n[0] >= 2 && n[1] >= 2; r.Sides {
		r.Ahead[0], r.Ahead[1] = r.Ahead[0]/n[0], r.Ahead[1]/n[1]
	}
	a, ok1 := upper.Tooth(11)
	b, ok2 := upper.Tooth(21)
	c, ok3 := lower.Tooth(41)
	d, ok4 := lower.Tooth(31)
	if r.Front = ok1 && ok2 && ok3 && ok4; r.Front {
		r.Midline = (pose.Apply(c.Centre).X + pose.Apply(d.Centre).X - a.Centre.X - b.Centre.X) / 2
		r.Overjet = (pose.Apply(c.Top).Y + pose.Apply(d.Top).Y - a.Top.Y - b.Top.Y) / 2
		r.Overbite = (pose.Apply(c.Top).Z + pose.Apply(d.Top).Z - a.Top.Z - b.Top.Z) / 2
	}
	return r
}

// Of how unusual a relation is: the differences, in mm, that count as one, by how much
// strength one lowers the other, and how much it may in all. Scans whose teeth were
// wrongly numbered show unusual relations too. Set on the persons named in
// docs/articulating.md.
const (
	unusualTwist   = 4.0
	unusualMidline = 3.0
	unusualWorth   = 0.05
	unusualMost    = 0.2
)

// unusual is by how much the strength of a place counts less, since arches rarely
// stand so: one side far ahead of the other, or the midlines far apart.
func unusual(r *findings.ToothRelation) float64 {
	twist, midline := 0.0, 0.0
	if r.Sides {
		twist = (r.Ahead[0] - r.Ahead[1]) / unusualTwist
	}
	if r.Front {
		midline = r.Midline / unusualMidline
	}
	return min(unusualMost, unusualWorth*(twist*twist+midline*midline))
}

// relationNotes say what of the relation is out of the usual.
func relationNotes(r *findings.ToothRelation) (out []string) {
	if r.Front {
		switch {
		case r.Overjet < -0.5:
			out = append(out, fmt.Sprintf("the lower anterior teeth stand %.1f mm before the upper ones: a reverse overjet, "+
				"unless the two scans are exchanged", -r.Overjet))
		case r.Overjet > 6:
			out = append(out, fmt.Sprintf("the upper anterior teeth stand %.1f mm before the lower ones", r.Overjet))
		}
		if r.Overbite < -0.5 {
			out = append(out, fmt.Sprintf("the anterior teeth stand %.1f mm apart in height: an open bite", -r.Overbite))
		}
		if math.Abs(r.Midline) > 2 {
			out = append(out, fmt.Sprintf("the lower midline stands %.1f mm to the %s of the upper one", math.Abs(r.Midline), sideOf(r.Midline)))
		}
	}
	if len(r.Crossed) > 0 {
		names := make([]string, len(r.Crossed))
		for i, t := range r.Crossed {
			names[i] = t.String()
		}
		out = append(out, "crossbite at "+strings.Join(names, ", "))
	}
	if r.Sides && (math.Abs(r.Ahead[0]) > 3.5 || math.Abs(r.Ahead[1]) > 3.5) {
		out = append(out, fmt.Sprintf("the lower canines, premolars and first molars stand %s class I on the right and "+
			"%s it on the left", ahead(r.Ahead[0]), ahead(r.Ahead[1])))
	}
	return out
}

func sideOf(x float64) string {
	if x > 0 {
		return "left"
	}
	return "right"
}

func ahead(mm float64) string {
	if mm >= 0 {
		return fmt.Sprintf("%.1f mm ahead of", mm)
	}
	return fmt.Sprintf("%.1f mm behind", -mm)
}
