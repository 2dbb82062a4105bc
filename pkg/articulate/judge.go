package articulate

import (
	"context"
	"errors"
	"fmt"

	"github.com/cusptrace/cusptrace/internal/interlock"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/settle"
)

// ErrNoFit says that no place was found in which two arches certainly belong.
var ErrNoFit = errors.New("the arches could not be put together")

// Of the strength of a place, mm: the least at which arches are believed to belong
// together, from which it is clear, and the least where a person has pointed at the
// place. Set on persons 001 to 030 of docs/articulating.md, where pairs of two persons
// reach 3.2 and all but two pairs of one person more than 3.5, and measured on others.
const (
	strengthLeast  = 3.3
	strengthClear  = 3.7
	strengthHinted = 2.6
)

// Of rivals: how far away, in mm at some tooth, a place lies in another relation and is
// no longer part of the error of the first (a third of a premolar), and the share of
// the area that it must lack.
const (
	otherRelation = 2.5
	leadLeast     = 0.08
)

// pairing is two arches that are being put together.
type pairing struct {
	up, lo       *casts.Scan
	upper, lower *interlock.Arch
	options      interlock.Options
}

// search lays both arches in their frames and searches. Where their teeth do not lead
// to a clear place, their outlines are tried as well.
func (o *Options) search(ctx context.Context, upper, lower *casts.Scan) (*pairing, []interlock.Place, error) {
	m := &pairing{up: upper, lo: lower, options: interlock.Options{Workers: o.Workers}}
	var places []interlock.Place
	err := m.fromTeeth()
	if err == nil {
		if places, err = m.places(ctx, o); err != nil {
			return nil, nil, err
		}
		if m.bestOf(places) >= strengthClear {
			return m, places, nil
		}
	} else if len(o.Teeth) > 0 {
		return nil, nil, fmt.Errorf("%w: pairs of teeth need the teeth of both arches: %w", settle.ErrArch, err)
	}
	if len(o.Teeth) > 0 {
		return m, places, nil
	}
	other := &pairing{up: upper, lo: lower, options: interlock.Options{Workers: o.Workers, Wide: true}}
	if failed := other.fromShape(); failed != nil {
		if err != nil {
			return nil, nil, failed
		}
		return m, places, nil
	}
	more, failed := other.places(ctx, o)
	if failed != nil {
		return nil, nil, failed
	}
	if err != nil || other.bestOf(more) > m.bestOf(places) {
		return other, more, nil
	}
	return m, places, nil
}

func (m *pairing) bestOf(places []interlock.Place) float64 {
	if len(places) == 0 {
		return 0
	}
	return m.strength(places[0])
}

// strength is that of a place, less what is unusual about it.
func (m *pairing) strength(p interlock.Place) float64 {
	r := relationOf(m.upper, m.lower, p.Pose)
	return p.Strength() - unusual(&r)
}

func (m *pairing) fromTeeth() (err error) {
	for _, s := range [2]*casts.Scan{m.up, m.lo} {
		if s.Labels == nil {
			return fmt.Errorf("%w: no teeth are known", interlock.ErrTeeth)
		}
	}
	if m.upper, err = interlock.FromTeeth(m.up.Mesh, m.up.Labels); err != nil {
		return fmt.Errorf("upper arch: %w", err)
	}
	if m.lower, err = interlock.FromTeeth(m.lo.Mesh, m.lo.Labels); err != nil {
		return fmt.Errorf("lower arch: %w", err)
	}
	return nil
}

func (m *pairing) fromShape() error {
	lay := func(s *casts.Scan, jaw dentition.Jaw) (*interlock.Arch, error) {
		f, err := newArchFrame(s.Mesh, jaw == dentition.Upper)
		if err != nil {
			return nil, fmt.Errorf("%v arch: %w", jaw, err)
		}
		return interlock.InFrame(s.Mesh, nil, jaw, f.fromScan, f.depth)
	}
	var err error
	if m.upper, err = lay(m.up, dentition.Upper); err != nil {
		return err
	}
	m.lower, err = lay(m.lo, dentition.Lower)
	return err
}

// Of hints, mm: how far apart the points of a pair may lie in the place that is found,
// and how far the middles of two teeth that meet, a crown's width.
const (
	pointsWithin = 2.0
	teethWithin  = 7.0
)

// places searches with what a person has said.
func (m *pairing) places(ctx context.Context, o *Options) ([]interlock.Place, error) {
	s := m.options
	if len(o.Points) > 0 {
		s.Within = pointsWithin
		for _, p := range o.Points {
			s.Pairs = append(s.Pairs, interlock.Pair{Upper: m.upper.FromScan.Apply(p.Upper), Lower: m.lower.FromScan.Apply(p.Lower)})
		}
	}
	for _, t := range o.Teeth {
		u, ok := m.upper.Tooth(t[0])
		l, ok2 := m.lower.Tooth(t[1])
		if !ok || !ok2 {
			return nil, fmt.Errorf("%w: %v and %v are not both among the teeth of the two arches", settle.ErrArch, t[0], t[1])
		}
		s.Within = max(s.Within, teethWithin)
		s.Pairs = append(s.Pairs, interlock.Pair{Upper: u.Centre, Lower: l.Centre})
	}
	if o.AsPlaced {
		start := m.lower.FromScan.Inverse().Then(m.upper.FromScan)
		s.Start = &start
	}
	return interlock.Search(ctx, m.upper, m.lower, s)
}

// hinted says that a person has pointed at the place.
func (o *Options) hinted() bool { return len(o.Points)+len(o.Teeth) > 0 || o.AsPlaced }

// rival is the best place in another relation than place k, -1 where there is none.
func rival(places []interlock.Place, k int, depth float64) int {
	for i, p := range places {
		if i != k && interlock.Between(places[k].Pose, p.Pose, depth) > otherRelation {
			return i
		}
	}
	return -1
}

// PlaceFound is one place that the search found.
type PlaceFound struct {
	// Area, in mm², is over what the arches come close there, Strength it over the root
	// of the area over which they face each other, mm; Away is how far the place lies
	// from the best one, mm at some tooth.
	Area, Strength, Away float64
}

// NoFitError says why no place was taken, and which were found.
type NoFitError struct {
	Reason string
	Places []PlaceFound
}

func (e *NoFitError) Error() string { return ErrNoFit.Error() + ": " + e.Reason }

// Unwrap is [ErrNoFit].
func (e *NoFitError) Unwrap() error { return ErrNoFit }

// tryNext is what a person can do, in words for the end of a message.
const tryNext = "what helps: the teeth of both arches, labelled right (--upper-labels, --lower-labels); a pair of " +
	"teeth that meet (--teeth 16=46); points that touch (--points); or a look at the places found (--place 1, 2, …)"

func (m *pairing) nowhere(o Options) error {
	if o.hinted() {
		return &NoFitError{Reason: "there is no place near what was given; is it meant so?"}
	}
	return &NoFitError{Reason: "nowhere do they come close; " + tryNext}
}

// judge says whether the place is believed, and how far it may be off.
func (m *pairing) judge(a *findings.Articulated, places []interlock.Place, o Options) error {
	p := places[o.Place]
	a.ErrorFrontMM, a.ErrorMolarsMM = m.error(places, o.Place)
	if o.Anyway {
		return nil
	}
	least := strengthLeast
	if o.hinted() {
		least = strengthHinted
	}
	e := &NoFitError{}
	for _, q := range places {
		e.Places = append(e.Places, PlaceFound{Area: q.Area, Strength: q.Strength(),
			Away: interlock.Between(places[0].Pose, q.Pose, m.lower.Depth)})
	}
	switch s := m.strength(p); {
	case s < least:
		e.Reason = fmt.Sprintf("in the best place they come close over %.0f of %.0f mm², no more than arches of two "+
			"persons may (%.1f, believed from %.1f); %s", max(0, p.Area), p.Facing, s, least, tryNext)
	case o.Place == 0 && !o.hinted() && a.Lead() < leadLeast:
		e.Reason = fmt.Sprintf("two relations, %.0f mm apart, fit nearly as well (%.0f and %.0f mm²); %s", a.Away, a.Close, a.RunnerUp, tryNext)
	default:
		return nil
	}
	return e
}

// Of the error of a relation, mm: what it is at least, and by how much of what the
// arches can give. Calibrated on the real case and on casts of known relation; see
// docs/articulating.md.
const (
	errorLeast = 0.05
	errorGive  = 0.6
)

// nearlyAsGood is the share of the area from which a place nearby is part of the error.
const nearlyAsGood = 0.85

// error is how far the relation may be off at the front and at the molars.
func (m *pairing) error(places []interlock.Place, k int) (front, molars float64) {
	p := places[k]
	front, molars = errorGive*p.Give[0], errorGive*max(p.Give[1], p.Give[2])
	for i, q := range places {
		if i == k || q.Area < nearlyAsGood*p.Area {
			continue
		}
		if d := interlock.Between(p.Pose, q.Pose, m.lower.Depth); d < otherRelation {
			front, molars = max(front, d/2), max(molars, d/2)
		}
	}
	return max(front, errorLeast), max(molars, errorLeast)
}

// teethOf is an arch in its frame, its teeth alone where they are labelled.
func (m *pairing) teethOf(s *casts.Scan, a *interlock.Arch) (*mesh.Mesh, error) {
	of := s.Mesh
	if s.Labels != nil && len(a.Teeth) > 0 {
		tris, err := s.Labels.Triangles(of)
		if err != nil {
			return nil, err
		}
		var keep [][3]mesh.VertexID
		for t, c := range of.All() {
			if tris[t] != dentition.NoTooth {
				keep = append(keep, c)
			}
		}
		if of, err = mesh.New(of.Vertices(), keep); err != nil {
			return nil, err
		}
	}
	return of.Transform(a.FromScan.Apply)
}
