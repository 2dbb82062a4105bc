package articulate

import (
	"context"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/internal/interlock"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/settle"
	"gonum.org/v1/gonum/spatial/r3"
)

// Options are the settings of [Articulate]; the zero value searches
// everywhere.
type Options struct {
	// Points are points of the upper and of the lower scan, each in its own frame, mm,
	// that touch or nearly do when the teeth are together.
	Points []PointPair
	// Teeth are an upper and a lower tooth each that meet. They need labels.
	Teeth [][2]dentition.ToothID
	// AsPlaced says that the scans, as they lie in their files, stand about right
	// already: within 2 mm and 4°.
	AsPlaced bool
	// Place is which of the places is taken, 0 for the best; see [NoFitError].
	Place int
	// Anyway takes the place even where it is no better than those of arches that do
	// not belong together.
	Anyway bool
	// Workers is the number of goroutines, 0 for one a processor. The result does not
	// depend on it.
	Workers int
}

// PointPair is a point of the upper and one of the lower scan, mm.
type PointPair struct{ Upper, Lower r3.Vec }

// Articulate puts two arches together, whatever frames they come in, from their
// shape and what is known of their teeth.
//
// Each arch is laid in its own frame: from its teeth where they are labelled, else
// from its outline. The lower one is slid and turned under the upper one over a grid,
// closed each time until a small share overlaps, and the best places are refined in
// all six freedoms (package interlock). Arches of one person are told from others by
// the area over which they come close, against what chance gives over the area over
// which they face each other; a second place in another relation that is nearly as
// good is an ambiguity, one nearby is part of the error.
//
// The winner is brought to the best fit over all teeth that come close. Where the
// overlap left in it is within the error of scans, 60 µm, the arches are pressed
// together from there as [settle.Settle] does, and where the locked position agrees with the
// fit to within that error, it is the relation. Where it does not, single
// peaks hold the arches off, noise or a high spot; then the fit, in which errors
// average out, is the better guess at how the teeth meet, and overlap is left in it
// for the settling of the case.
//
// Arches without a frame, or on which teeth were looked for in vain, are an error wrapping [settle.ErrArch]; those that fit nowhere or in
// two relations are a [NoFitError], which wraps [ErrNoFit].
func Articulate(ctx context.Context, upper, lower *casts.Scan, o Options) (*findings.Articulated, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := o.checkTeeth(upper, lower); err != nil {
		return nil, err
	}
	m, places, err := o.search(ctx, upper, lower)
	if err != nil {
		return nil, err
	}
	if len(places) == 0 {
		return nil, m.nowhere(o)
	}
	if o.Place >= len(places) {
		return nil, fmt.Errorf("%w: there are %d places, number %d is not among them", ErrNoFit, len(places), o.Place+1)
	}
	a := &findings.Articulated{Close: places[o.Place].Area, Strength: places[o.Place].Strength()}
	if r := rival(places, o.Place, m.lower.Depth); r >= 0 {
		a.RunnerUp, a.Away = max(0, places[r].Area), interlock.Between(places[o.Place].Pose, places[r].Pose, m.lower.Depth)
	}
	if err := m.judge(a, places, o); err != nil {
		return nil, err
	}
	return a, m.take(ctx, a, places[o.Place].Pose, o)
}

// checkTeeth is an error wrapping [settle.ErrArch] where teeth were looked for on an arch and none found, unless a person
// says how the arches meet: outlines alone fit a ridge without teeth as well as any.
func (o *Options) checkTeeth(upper, lower *casts.Scan) error {
	if len(o.Points) > 0 || o.AsPlaced || o.Anyway {
		return nil
	}
	for i, s := range []*casts.Scan{upper, lower} {
		if jaw := dentition.Upper + dentition.Jaw(i); s.Unfound != nil {
			return fmt.Errorf("%w: %v arch: %w; arches are put together by how their teeth interlock; where it has teeth, give "+
				"their labels (--%v-labels), or points that touch (--points)",
				settle.ErrArch, jaw, s.Unfound, jaw)
		}
	}
	return nil
}

// take brings the lower arch from a place of the search into its relation.
func (m *pairing) take(ctx context.Context, a *findings.Articulated, from kinematics.Pose, o Options) error {
	up, err := m.teethOf(m.up, m.upper)
	if err != nil {
		return err
	}
	lo, err := m.teethOf(m.lo, m.lower)
	if err != nil {
		return err
	}
	if err := seatFrom(ctx, a, up, lo, from, o.Workers); err != nil {
		return err
	}
	a.Relation = relationOf(m.upper, m.lower, a.UpperFromLower)
	between := a.UpperFromLower
	a.UpperFromLower = m.lower.FromScan.Then(between).Then(m.upper.FromScan.Inverse())
	if a.Mounting, err = m.mountingPoints(a.UpperFromLower); err != nil {
		return err
	}
	if s := a.Settling; s != nil && !s.Seat.Locked && !o.Anyway {
		return fmt.Errorf("%w: %s", ErrNoFit, describeSeat(a, m.upper.Depth))
	}
	m.describe(a)
	return nil
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
	s, _, err := settle.NewSeat(ctx, upper, lower, contact.Options{Workers: workers})
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
	given, err := settle.Settle(ctx, upper, lower, settle.Options{How: casefile.SettleNone, Workers: workers})
	if err != nil {
		return err
	}
	// A vertex that deep in the other arch has to go that far to come free.
	if a.OverlapUm = given.OverlapBeforeUm; a.OverlapUm > fitErrorUm {
		return nil
	}
	if a.Settling, err = settle.Settle(ctx, upper, lower, settle.Options{DoubtUm: DoubtUm(a), Workers: workers}); err != nil {
		return fmt.Errorf("%w: where they fit best, %w; one of the scans may be inside out", ErrNoFit, err)
	}
	if r := a.Settling.Seat; r.Taken && r.FarthestUm <= fitErrorUm {
		a.Locked, a.OverlapUm = true, 0
		a.UpperFromLower = a.UpperFromLower.Then(a.Settling.Pose.Pose)
	}
	return nil
}

// DoubtUm is how far, in µm at any tooth, a case may settle arches from the relation in which they
// were put together: the error of the relation rounded up to 50, at least the usual doubt of a
// bite scan.
func DoubtUm(a *findings.Articulated) float64 {
	const step = 50
	error := 1000 * max(a.ErrorFrontMM, a.ErrorMolarsMM)
	return max(casefile.Default().Settle.DoubtUm, step*math.Ceil(error/step))
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
