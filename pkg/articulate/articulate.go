package articulate

import (
	"context"
	"errors"
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/settle"
)

// ErrNoFit says that two arches do not fit each other anywhere.
var ErrNoFit = errors.New("the arches do not fit together")

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
func Articulate(ctx context.Context, upper, lower *mesh.Mesh, workers int) (*findings.Articulated, error) {
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
	a := &findings.Articulated{Close: found[0].score}
	if len(found) > 1 {
		a.RunnerUp, a.Away = max(0, found[1].score), between(found[0].pose, found[1].pose, lf.depth)
	}
	if a.Lead() < leadLeast {
		return nil, fmt.Errorf("%w: no place stands out: they come close over %.0f mm² in one and over %.0f mm² in another; are they an upper and a lower arch of one person, in this order, and whole?", ErrNoFit, a.Close, a.RunnerUp)
	}
	if err := seatFrom(ctx, a, up, lo, found[0].pose, workers); err != nil {
		return nil, err
	}
	a.UpperFromLower = lf.fromScan.Then(a.UpperFromLower).Then(uf.fromScan.Inverse())
	a.Incisal, a.Right, a.Left = a.UpperFromLower.Apply(lf.front), a.UpperFromLower.Apply(lf.right), a.UpperFromLower.Apply(lf.left)
	if r := a.Settling.Rest; !r.Locked {
		return nil, fmt.Errorf("%w: %s; a relation that nothing holds cannot be found by hand", ErrNoFit, describeRest(a, uf.depth))
	}
	describe(a, uf.depth, uf.fromScan.Apply(a.Incisal).Y < uf.fromScan.Apply(uf.front).Y-reverseMost)
	return a, nil
}

// seatFrom brings the lower arch from a place of the search to the best fit and on to
// rest.
func seatFrom(ctx context.Context, a *findings.Articulated, up, lo *mesh.Mesh, from kinematics.Pose, workers int) error {
	upper, err := bareCast(ctx, up, dentition.Upper, kinematics.Pose{})
	if err != nil {
		return err
	}
	lower, err := bareCast(ctx, lo, dentition.Lower, from)
	if err != nil {
		return err
	}
	s, _, err := settle.NewSeat(ctx, upper, lower, workers)
	if err != nil {
		return err
	}
	fit, err := fit(s, ctx, kinematics.Pose{})
	if err != nil {
		return err
	}
	a.UpperFromLower = from.Then(fit)
	if lower, err = bareCast(ctx, lo, dentition.Lower, a.UpperFromLower); err != nil {
		return err
	}
	if a.Settling, err = settle.Settle(ctx, upper, lower, settle.Options{Workers: workers}); err != nil {
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
func bareCast(ctx context.Context, m *mesh.Mesh, jaw dentition.Jaw, pose kinematics.Pose) (*casts.Cast, error) {
	m, err := m.Transform(pose.Apply)
	if err != nil {
		return nil, err
	}
	arch, err := contact.NewArch(ctx, m, nil, contact.Options{})
	return &casts.Cast{Arch: arch, Jaw: jaw, ByPart: []dentition.ToothID{dentition.NoTooth}}, err
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
