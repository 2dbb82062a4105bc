package occlusion

import (
	"context"
	"errors"
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// ErrNoFit says that two arches do not fit each other anywhere.
var ErrNoFit = errors.New("the arches do not fit together")

// Articulated is two arches put together by hand.
type Articulated struct {
	// UpperFromLower takes a point of the lower scan into the frame of the upper
	// one, in the relation that was found.
	UpperFromLower kinematics.Pose
	// Incisal, Right and Left are points of the lower arch for the average
	// mounting, in the upper scan's frame: the highest at the front of the midline
	// and at its ends.
	Incisal, Right, Left r3.Vec
	// Close is the area, in mm², over which the arches come close, as the search
	// counts it; RunnerUp is that of the best place at least 1.2 mm away, 0 where
	// there is none.
	Close, RunnerUp float64
	// Settling is what brought the arches to rest from the place of best fit.
	Settling *Settling
	Text     string
}

// articulateDoubtUm is how far, in µm at any place, the rest may lie from the place
// of best fit to be taken.
const articulateDoubtUm = 400

// fitLeast is the area of closeness, in mm², below which arches do not fit: half of
// what is within 0.2 mm in the mean of adults, 69 mm² (IADR 2009, abstract 118354).
const fitLeast = 35.0

// Articulate puts two arches together, whatever frames they come in: the upper and
// the lower one, as scanned, with nothing but their shape.
//
// Each arch is laid in its own frame (occlusal plane, front, midline), the lower
// one is slid and turned under the upper one over a grid, closed each time until a
// small share overlaps, and the best places are refined in all six freedoms. The
// score is the area over which the surfaces come close, less what they overlap by
// more than a tenth of a millimetre. The winner is settled as [Settle] does.
func Articulate(ctx context.Context, upper, lower *mesh.Mesh, workers int) (*Articulated, error) {
	uf, err := newArchFrame(upper, true)
	if err != nil {
		return nil, fmt.Errorf("upper arch: %w", err)
	}
	lf, err := newArchFrame(lower, false)
	if err != nil {
		return nil, fmt.Errorf("lower arch: %w", err)
	}
	up, err := upper.Transform(uf.fromScan.Apply)
	if err != nil {
		return nil, err
	}
	lo, err := lower.Transform(lf.fromScan.Apply)
	if err != nil {
		return nil, err
	}
	m, err := newMatcher(ctx, up, lo, workers)
	if err != nil {
		return nil, err
	}
	found, err := m.search(ctx, lf.depth, workers)
	if err != nil {
		return nil, err
	}
	if len(found) == 0 || found[0].score < fitLeast {
		best := 0.0
		if len(found) > 0 {
			best = max(0, found[0].score)
		}
		return nil, fmt.Errorf("%w: nowhere do more than %.0f mm² come close, %.0f would be the least; are they an upper and a lower arch of one person, in this order?", ErrNoFit, best, fitLeast)
	}
	a := &Articulated{Close: found[0].score}
	if len(found) > 1 {
		a.RunnerUp = max(0, found[1].score)
	}
	if a.Lead() < leadLeast {
		return nil, fmt.Errorf("%w: no place stands out: they come close over %.0f mm² in one and over %.0f mm² in another; are they an upper and a lower arch of one person, in this order, and whole?", ErrNoFit, a.Close, a.RunnerUp)
	}
	if lo, err = lo.Transform(found[0].pose.Apply); err != nil {
		return nil, err
	}
	upArch, err := contact.NewArch(up, nil)
	if err != nil {
		return nil, err
	}
	loArch, err := contact.NewArch(lo, nil)
	if err != nil {
		return nil, err
	}
	none := []dentition.ToothID{dentition.NoTooth}
	a.Settling, err = Settle(ctx, &Cast{Arch: upArch, Jaw: dentition.Upper, ByPart: none}, &Cast{Arch: loArch, Jaw: dentition.Lower, ByPart: none},
		SettleOptions{DoubtUm: articulateDoubtUm, Workers: workers})
	if err != nil {
		return nil, fmt.Errorf("%w: where they fit best, %w", ErrNoFit, err)
	}
	a.UpperFromLower = lf.fromScan.Then(found[0].pose).Then(a.Settling.pose).Then(uf.fromScan.Inverse())
	a.Incisal, a.Right, a.Left = a.UpperFromLower.Apply(lf.front), a.UpperFromLower.Apply(lf.right), a.UpperFromLower.Apply(lf.left)
	a.Text = a.describe(uf.fromScan.Apply(a.Incisal).Y < uf.fromScan.Apply(uf.front).Y-reverseMost)
	return a, nil
}

// Of the winner's lead, as a share of its area: the least at which it is believed,
// and from which it is clear. Our choice: arches that do not belong together, two
// of one jaw and halves come to 0 to 8 %, arches that do to 20 % and more.
const (
	leadLeast = 0.10
	leadClear = 0.20
)

// reverseMost is how far, in mm, the lower front may stand before the upper one
// without a word.
const reverseMost = 0.5

// Lead is by what share of its area the winner is ahead of the runner-up, 0 to 1.
func (a *Articulated) Lead() float64 { return 1 - a.RunnerUp/a.Close }

func (a *Articulated) describe(reversed bool) string {
	s := fmt.Sprintf("they come close over %.0f mm², the runner-up over %.0f mm²: the winner leads by %.0f %%", a.Close, a.RunnerUp, 100*a.Lead())
	if a.Lead() < leadClear {
		s += "; look at it before relying on it"
	}
	if reversed {
		s += "; the lower front teeth stand before the upper ones: a reverse overjet, or the arches are exchanged"
	}
	return s
}
