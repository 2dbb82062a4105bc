// Package tissue says where casts would meet beside their teeth: gingiva, the pad behind the
// last molar, cheek, ridges of lost teeth, bases.
package tissue

import (
	"context"
	"errors"
	"math"

	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// Of the places that are told; our choices.
const (
	stepMM  = 1.0  // of travel between the positions that are looked at
	placeMM = 10.0 // places nearer to each other are one
	mostAt  = 4    // places at one position
	leastUm = 20.0 // by which tissue must meet before the teeth
	looseMM = 15.0 // from the nearest tooth, beyond which a place is none of a tooth's
)

// hit is where tissue meets first, in the frame of the upper arch.
type hit struct {
	findings.Tissue
	at r3.Vec
}

// Write closes the whole scans where the casts were closed between their teeth, in
// intercuspation and along the movements, and tells every place once at which something
// beside the teeth would meet first: where it does so most.
func Write(ctx context.Context, e *frames.Setup, f *findings.Findings) error {
	f.Tissue = []findings.Tissue{}
	up, lo := e.Casts.Upper, e.Casts.Lower
	if up.Whole == up.Mesh() && lo.Whole == lo.Mesh() {
		return nil
	}
	w, err := newWhole(ctx, e.Casts)
	if err != nil {
		return err
	}
	var all []hit
	st, err := e.Set.Station(kinematics.Protrusive, 0)
	if err != nil {
		return err
	}
	if all, err = w.look(all, st, "", f.Centric.OpeningDeg); err != nil {
		return err
	}
	for i := range f.Excursions {
		x := &f.Excursions[i]
		m, err := x.Movement.Kinematic()
		if err != nil {
			return err
		}
		next := stepMM
		for k := range x.Frames {
			fr := &x.Frames[k]
			if x.Guidance != nil && x.Guidance.EdgeToEdgeMM != nil && fr.TravelMM > *x.Guidance.EdgeToEdgeMM {
				break // what lies beyond matters to nobody who bites
			}
			if fr.TravelMM < next-1e-9 {
				continue
			}
			for next <= fr.TravelMM+1e-9 {
				next += stepMM
			}
			if st, err = e.Set.Station(m, fr.TravelMM); err != nil {
				return err
			}
			if all, err = w.look(all, st, x.Movement, fr.OpeningDeg); err != nil {
				return err
			}
			if err := ctx.Err(); err != nil {
				return err
			}
		}
	}
	for i := range all {
		t := &all[i].Tissue
		t.Text = words(t)
		f.Tissue = append(f.Tissue, *t)
	}
	return nil
}

// whole is the scans with all their surface.
type whole struct {
	casts        *casts.Casts
	closer       *contact.Closer
	bites        [2][]bool // of the triangles of both whole meshes
	places       [2][]place
	scratch      contact.CloserScratch
	upper, lower *mesh.Mesh
	reach        float64 // mm: no point of the lower arch is farther from the hinge axis
}

// place is the middle of a tooth.
type place struct {
	tooth dentition.ToothID
	at    r3.Vec
}

func newWhole(ctx context.Context, c *casts.Casts) (*whole, error) {
	w := &whole{casts: c, upper: c.Upper.Whole, lower: c.Lower.Whole}
	for _, v := range w.lower.Vertices() {
		w.reach = max(w.reach, math.Hypot(v.Y, v.Z))
	}
	for i, k := range [2]*casts.Cast{c.Upper, c.Lower} {
		w.bites[i] = bites(k)
		for t := range dentition.All {
			if f, ok := k.Frames[t]; ok {
				w.places[i] = append(w.places[i], place{t, f.Centre})
			}
		}
	}
	up, err := contact.NewArch(ctx, w.upper, parts(w.bites[0]), contact.Options{})
	if err != nil {
		return nil, err
	}
	lo, err := contact.NewArch(ctx, w.lower, parts(w.bites[1]), contact.Options{})
	if err != nil {
		return nil, err
	}
	w.closer, err = contact.NewCloser(ctx, up, lo, contact.Options{})
	return w, err
}

// parts puts what bites into one part and the rest into none.
func parts(bites []bool) []int32 {
	out := make([]int32, len(bites))
	for i, b := range bites {
		if !b {
			out[i] = contact.NoPart
		}
	}
	return out
}

// teeth says whether two parts both bite.
func teeth(upper, lower int32) bool { return upper != contact.NoPart && lower != contact.NoPart }

// bites says which triangles of the whole cast are among those that meet the other one:
// trimming keeps their order.
func bites(c *casts.Cast) []bool {
	out := make([]bool, c.Whole.NumTriangles())
	kept := c.Mesh().Triangles()
	for t, tri := range c.Whole.All() {
		if len(kept) > 0 && tri == kept[0] {
			out[t], kept = true, kept[1:]
		}
	}
	return out
}

// look adds to the places those at one station where the casts stand at an opening between
// their teeth.
func (w *whole) look(all []hit, st kinematics.Station, movement findings.Movement, openingDeg float64) ([]hit, error) {
	var here []r3.Vec
	// Nothing that meets at less than this can be told.
	least := frames.Degrees(openingDeg) + s1.Angle(2*math.Asin(min(1, leastUm/2000/w.reach)))
	for range mostAt {
		touch, err := w.closer.CloseAbove(st.Base(), least, contact.Passing{Parts: teeth, Triangles: func(u, _ mesh.TriID) bool {
			a, _, _ := w.upper.Corners(u)
			for _, p := range here {
				if r3.Norm(r3.Sub(a, p)) < placeMM {
					return true
				}
			}
			return false
		}}, &w.scratch)
		if errors.Is(err, contact.ErrNoTouch) {
			return all, nil
		}
		if err != nil {
			return all, err
		}
		angle := touch.Opening - frames.Degrees(openingDeg)
		q := st.Base().Inverse().Apply(touch.Point)
		um := 2000 * math.Hypot(q.Y, q.Z) * math.Sin(angle.Radians()/2)
		if um < leastUm {
			return all, nil
		}
		here = append(here, touch.Point)
		h := hit{at: touch.Point}
		h.Movement, h.TravelMM, h.HeightUm, h.PointMM = movement, st.Travel, um, findings.VecOf(touch.Point)
		h.Upper = w.side(0, w.bites[0][touch.Upper], touch.Point)
		h.Lower = w.side(1, w.bites[1][touch.Lower], touch.Pose.Inverse().Apply(touch.Point))
		all = add(all, h)
	}
	return all, nil
}

// add keeps of places near each other the one that shows most; what shows in intercuspation
// stays that.
func add(all []hit, h hit) []hit {
	for i := range all {
		a := &all[i]
		if r3.Norm(r3.Sub(a.at, h.at)) >= placeMM && !(a.Upper == h.Upper && a.Lower == h.Lower) {
			continue
		}
		if h.HeightUm > a.HeightUm && (a.Movement != "" || h.Movement == "") {
			*a = h
		}
		return all
	}
	return append(all, h)
}

// side is what one arch meets with: a tooth, or surface near one.
func (w *whole) side(i int, bites bool, p r3.Vec) findings.TissueSide {
	out := findings.TissueSide{Kind: findings.TissueElsewhere}
	best := place{at: r3.Vec{X: math.Inf(1)}}
	for _, k := range w.places[i] {
		if r3.Norm(r3.Sub(k.at, p)) < r3.Norm(r3.Sub(best.at, p)) {
			best = k
		}
	}
	if best.tooth == dentition.NoTooth || r3.Norm(r3.Sub(best.at, p)) > looseMM {
		return out
	}
	out.Tooth = findings.Part(best.tooth)
	if bites {
		out.Kind = findings.TissueTooth
		return out
	}
	cast := w.casts.Upper
	if i == 1 {
		cast = w.casts.Lower
	}
	out.Kind = findings.TissueBeside
	f := cast.Frames[best.tooth]
	mesial, buccal, _ := f.Local(p)
	if math.Abs(mesial) < math.Abs(buccal) {
		return out
	}
	step := 1
	if mesial > 0 {
		step = -1
	}
	if next := neighbour(cast, best.tooth, step); next == dentition.NoTooth {
		out.Kind = findings.TissueBehind
	} else if next != best.tooth {
		out.Kind, out.Next = findings.TissueRidge, findings.Part(next)
	}
	return out
}

// neighbour is the next labelled tooth of a row beyond a missing one, to distal for a step
// of 1 and to mesial for −1: the tooth itself where its neighbour is there, NoTooth where
// none follows.
func neighbour(c *casts.Cast, t dentition.ToothID, step int) dentition.ToothID {
	if step < 0 && t.Position() == 1 {
		return t
	}
	for k := 1; ; k++ {
		n := dentition.ToothID(int(t) + step*k)
		if !n.Valid() || n.Quadrant() != t.Quadrant() {
			if step < 0 {
				return t // the other side of the arch follows
			}
			return dentition.NoTooth
		}
		if _, ok := c.Frames[n]; ok {
			if k == 1 {
				return t
			}
			return n
		}
	}
}

// words tell a place.
func words(t *findings.Tissue) findings.Sentence {
	with := language.With{"um": t.HeightUm, "upper": sideWords(t.Upper, dentition.Upper), "lower": sideWords(t.Lower, dentition.Lower)}
	if t.Movement != "" {
		with["movement"], with["at"] = findings.NameMovement(t.Movement), t.TravelMM
	}
	if t.Ridge() {
		return language.Say("tissue.ridge", with)
	}
	return language.Say("tissue.first", with)
}

func sideWords(s findings.TissueSide, jaw dentition.Jaw) findings.Sentence {
	key := "tissue.elsewhere.upper"
	if jaw == dentition.Lower {
		key = "tissue.elsewhere.lower"
	}
	switch s.Kind {
	case findings.TissueTooth:
		key = "tissue.tooth"
	case findings.TissueBeside:
		key = "tissue.beside"
	case findings.TissueBehind:
		key = "tissue.behind"
	case findings.TissueRidge:
		key = "tissue.gap"
	}
	return language.Say(key, language.With{"tooth": s.Tooth, "next": s.Next})
}
