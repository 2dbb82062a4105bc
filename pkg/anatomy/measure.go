package anatomy

import (
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"gonum.org/v1/gonum/spatial/r3"
)

// Measurements of arches from their landmarks. Landmarks of both arches are in
// one frame, in the relation that is measured; lengths are mm.

// spotOf is a landmark's point.
func spotOf(l []Landmark, t dentition.ToothID, f Feature) (r3.Vec, bool) {
	for i := range l {
		if l[i].Tooth == t && l[i].Feature == f {
			return l[i].Point, true
		}
	}
	return r3.Vec{}, false
}

// Width is the distance of the same landmark on both sides of an arch.
type Width struct {
	Right, Left dentition.ToothID
	Feature     Feature
	MM          float64
}

// Widths measures an arch across the cusp tips of canines, first and second
// premolars (buccal) and first and second molars (mesiobuccal). Where a tooth is
// missing there is no width.
func Widths(l []Landmark) []Width {
	var out []Width
	for _, right := range [...]dentition.ToothID{13, 14, 15, 16, 17, 43, 44, 45, 46, 47} {
		w := Width{Right: right, Left: right.Mirror(), Feature: BuccalCusp}
		switch {
		case right.Type() == dentition.Canine:
			w.Feature = CanineCusp
		case right.Type().Molar():
			w.Feature = MesiobuccalCusp
		}
		p, ok := spotOf(l, w.Right, w.Feature)
		q, ok2 := spotOf(l, w.Left, w.Feature)
		if ok && ok2 {
			w.MM = r3.Norm(r3.Sub(p, q))
			out = append(out, w)
		}
	}
	return out
}

// OcclusalPlane is the plane through the lower incisal point and the distobuccal
// cusp tips of the rearmost of the lower first and second molars.
type OcclusalPlane struct {
	Origin r3.Vec // the incisal point
	// Up is the unit normal to the upper arch, Forward points from the middle of
	// the molars to the incisal point.
	Up, Forward r3.Vec
	// Right and Left are the molars whose distobuccal cusps it goes through.
	Right, Left dentition.ToothID
}

// NewOcclusalPlane lays the plane through the landmarks of a lower arch; up is
// about the direction to the upper one. ok is false where a landmark is missing.
func NewOcclusalPlane(lower []Landmark, up r3.Vec) (plane OcclusalPlane, ok bool) {
	a, ok1 := spotOf(lower, 41, MesioincisalEdge)
	b, ok2 := spotOf(lower, 31, MesioincisalEdge)
	right, rightMolar, ok3 := rearTip(lower, 47, 46)
	left, leftMolar, ok4 := rearTip(lower, 37, 36)
	if !ok1 || !ok2 || !ok3 || !ok4 {
		return plane, false
	}
	plane.Origin, plane.Right, plane.Left = r3.Scale(0.5, r3.Add(a, b)), rightMolar, leftMolar
	n := r3.Cross(r3.Sub(right, plane.Origin), r3.Sub(left, plane.Origin))
	forward := r3.Sub(plane.Origin, r3.Scale(0.5, r3.Add(right, left)))
	if r3.Norm(n) == 0 || r3.Norm(forward) == 0 {
		return plane, false
	}
	plane.Up, plane.Forward = r3.Unit(n), r3.Unit(forward)
	if r3.Dot(plane.Up, up) < 0 {
		plane.Up = r3.Scale(-1, plane.Up)
	}
	return plane, true
}

// rearTip is the distobuccal tip of the first of the teeth that has one.
func rearTip(l []Landmark, teeth ...dentition.ToothID) (p r3.Vec, of dentition.ToothID, ok bool) {
	for _, t := range teeth {
		if p, ok = spotOf(l, t, DistobuccalCusp); ok {
			return p, t, true
		}
	}
	return p, dentition.NoTooth, false
}

// height is how far a point lies above the plane.
func (o *OcclusalPlane) height(p r3.Vec) float64 { return r3.Dot(r3.Sub(p, o.Origin), o.Up) }

// Overlap is how an upper central incisor overlaps the lower one.
type Overlap struct {
	Upper, Lower dentition.ToothID
	// Overjet is how far the middle of the upper edge stands in front of that of
	// the lower one along the occlusal plane, Overbite how far it reaches below it
	// across; below 0 they stand behind, or apart.
	Overjet, Overbite float64
}

// Overlaps measures both pairs of central incisors.
func (o *OcclusalPlane) Overlaps(upper, lower []Landmark) []Overlap {
	var out []Overlap
	for _, x := range []Overlap{{Upper: 11, Lower: 41}, {Upper: 21, Lower: 31}} {
		p, ok := spotOf(upper, x.Upper, IncisalEdge)
		q, ok2 := spotOf(lower, x.Lower, IncisalEdge)
		if ok && ok2 {
			d := r3.Sub(p, q)
			x.Overjet, x.Overbite = r3.Dot(d, o.Forward), -r3.Dot(d, o.Up)
			out = append(out, x)
		}
	}
	return out
}

// Depth is the deepest cusp of the curve of Spee on one side.
type Depth struct {
	Side    dentition.Side
	Tooth   dentition.ToothID
	Feature Feature
	MM      float64 // below the occlusal plane
}

// Spee measures the curve of Spee on both sides: the buccal cusp tip of a lower
// premolar or molar that lies deepest below the occlusal plane. The tips that span
// the plane lie in it by construction and are no depth; a side with no other tip
// below the plane is left out, its curve being flat or reversed.
func (o *OcclusalPlane) Spee(lower []Landmark) []Depth {
	var out []Depth
	for _, side := range [2]dentition.Side{dentition.Right, dentition.Left} {
		best := Depth{Side: side}
		for i := range lower {
			l := &lower[i]
			buccal := l.Feature == BuccalCusp || l.Feature == MesiobuccalCusp || l.Feature == DistobuccalCusp
			if t := l.Tooth.Type(); !buccal || l.Tooth.Side() != side || t.Anterior() || t == dentition.ThirdMolar {
				continue
			}
			if l.Feature == DistobuccalCusp && (l.Tooth == o.Right || l.Tooth == o.Left) {
				continue
			}
			if d := -o.height(l.Point); d > best.MM {
				best.Tooth, best.Feature, best.MM = l.Tooth, l.Feature, d
			}
		}
		if best.Tooth != dentition.NoTooth {
			out = append(out, best)
		}
	}
	return out
}

// MolarRelation is how the first molars of one side stand to each other: the
// upper mesiobuccal cusp by the buccal groove of the lower one (Angle's key).
type MolarRelation struct {
	Side         dentition.Side
	Upper, Lower dentition.ToothID
	// MM is how far the cusp stands in front of the groove along the occlusal
	// plane, in the direction from the lower molar's distobuccal to its mesiobuccal
	// cusp; below 0 behind.
	MM float64
}

// QuarterCusp is a quarter of the width of a premolar, 7 mm in the handbooks: how
// far from its groove the cusp may stand to count as in it. Our choice; half a
// cusp's width, 3.5 mm, is where it stands tip to tip.
const QuarterCusp = 1.75

// Class is Angle's: I with the cusp at the groove, II in front of it and III
// behind it, by more than [QuarterCusp].
func (m MolarRelation) Class() string {
	switch {
	case m.MM > QuarterCusp:
		return "II"
	case m.MM < -QuarterCusp:
		return "III"
	}
	return "I"
}

// MolarRelations measures both sides.
func (o *OcclusalPlane) MolarRelations(upper, lower []Landmark) []MolarRelation {
	var out []MolarRelation
	for _, m := range []MolarRelation{{Side: dentition.Right, Upper: 16, Lower: 46}, {Side: dentition.Left, Upper: 26, Lower: 36}} {
		cusp, ok1 := spotOf(upper, m.Upper, MesiobuccalCusp)
		groove, ok2 := spotOf(lower, m.Lower, BuccalGroove)
		mesial, ok3 := spotOf(lower, m.Lower, MesiobuccalCusp)
		distal, ok4 := spotOf(lower, m.Lower, DistobuccalCusp)
		along := r3.Sub(mesial, distal)
		along = r3.Sub(along, r3.Scale(r3.Dot(along, o.Up), o.Up))
		if ok1 && ok2 && ok3 && ok4 && r3.Norm(along) > 0 {
			m.MM = r3.Dot(r3.Sub(cusp, groove), r3.Unit(along))
			out = append(out, m)
		}
	}
	return out
}
