package occlusion

import (
	"context"
	"errors"
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
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
	// Away is how far from the winner the runner-up lies, mm at some place.
	Away float64
	// OverlapUm is the deepest overlap in the relation that was found: 0 where the
	// arches are at rest in it, and what the errors of the scans leave where they are
	// not.
	OverlapUm float64
	// AtRest says that the relation is where the rigid arches lock; otherwise it is
	// that of best fit.
	AtRest bool
	// Settling is what pressing the arches together does, from the best fit on, in
	// the upper arch's own frame: x to the left, y back and z up from the front of its
	// midline.
	Settling *findings.Settling
	// FitText tells how clear the winner is, RelationText which relation was taken,
	// RestText where the arches rest, and Notes what is worth a second look.
	FitText, RelationText, RestText string
	Notes                           []string
}

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
// more than a tenth of a millimetre. The winner is brought to the best fit over all
// that comes close, and pressed together from there as [Settle] does. Where the rest
// agrees with the fit to within the error of scans, 60 µm, it is the relation. Where
// it does not, single peaks hold the arches off, noise or a high spot; then the fit,
// in which errors average out, is the better guess at how the teeth meet, and
// overlap is left in it for the settling of the case.
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
		return nil, fmt.Errorf("%w: nowhere do they come close over the %.0f mm² that are the least for two arches of one person; are they an upper and a lower one, in this order?", ErrNoFit, fitLeast)
	}
	a := &Articulated{Close: found[0].score}
	if len(found) > 1 {
		a.RunnerUp, a.Away = max(0, found[1].score), between(found[0].pose, found[1].pose, lf.depth)
	}
	if a.Lead() < leadLeast {
		return nil, fmt.Errorf("%w: no place stands out: they come close over %.0f mm² in one and over %.0f mm² in another; are they an upper and a lower arch of one person, in this order, and whole?", ErrNoFit, a.Close, a.RunnerUp)
	}
	if err := a.seat(ctx, up, lo, found[0].pose, workers); err != nil {
		return nil, err
	}
	a.UpperFromLower = lf.fromScan.Then(a.UpperFromLower).Then(uf.fromScan.Inverse())
	a.Incisal, a.Right, a.Left = a.UpperFromLower.Apply(lf.front), a.UpperFromLower.Apply(lf.right), a.UpperFromLower.Apply(lf.left)
	if r := a.Settling.Rest; !r.Locked {
		return nil, fmt.Errorf("%w: %s; a relation that nothing holds cannot be found by hand", ErrNoFit, a.describeRest(uf.depth))
	}
	a.describe(uf.depth, uf.fromScan.Apply(a.Incisal).Y < uf.fromScan.Apply(uf.front).Y-reverseMost)
	return a, nil
}

// seat brings the lower arch from a place of the search to the best fit and on to
// rest.
func (a *Articulated) seat(ctx context.Context, up, lo *mesh.Mesh, from kinematics.Pose, workers int) error {
	upper, err := bareCast(ctx, up, dentition.Upper, kinematics.Pose{})
	if err != nil {
		return err
	}
	lower, err := bareCast(ctx, lo, dentition.Lower, from)
	if err != nil {
		return err
	}
	s, _, err := newSeat(ctx, upper, lower, workers)
	if err != nil {
		return err
	}
	fit, err := s.fit(ctx, kinematics.Pose{})
	if err != nil {
		return err
	}
	a.UpperFromLower = from.Then(fit)
	if lower, err = bareCast(ctx, lo, dentition.Lower, a.UpperFromLower); err != nil {
		return err
	}
	if a.Settling, err = Settle(ctx, upper, lower, SettleOptions{Workers: workers}); err != nil {
		return fmt.Errorf("%w: where they fit best, %w; is one of them inside out?", ErrNoFit, err)
	}
	a.OverlapUm = a.Settling.OverlapBeforeUm
	if r := a.Settling.Rest; r.Taken && r.FarthestUm <= fitErrorUm {
		a.AtRest, a.OverlapUm = true, 0
		a.UpperFromLower = a.UpperFromLower.Then(a.Settling.Pose.Pose)
	}
	return nil
}

// bareCast is a cast of an arch without labels, moved.
func bareCast(ctx context.Context, m *mesh.Mesh, jaw dentition.Jaw, pose kinematics.Pose) (*Cast, error) {
	m, err := m.Transform(pose.Apply)
	if err != nil {
		return nil, err
	}
	arch, err := contact.NewArch(ctx, m, nil, contact.Options{})
	return &Cast{Arch: arch, Jaw: jaw, ByPart: []dentition.ToothID{dentition.NoTooth}}, err
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
