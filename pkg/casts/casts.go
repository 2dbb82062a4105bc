package casts

import (
	"context"
	"errors"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"gonum.org/v1/gonum/spatial/r3"
)

// Reasons for which two scans cannot be examined together.
var (
	ErrApart   = errors.New("the arches do not meet")
	ErrSwapped = errors.New("the arches are not where they should be")
)

// Scan is one arch as it came: welded, in mm, in the scan frame.
type Scan struct {
	Mesh   *mesh.Mesh
	Merged int                 // corners that welding joined
	Labels *dentition.Labels   // nil where there are none
	Teeth  []dentition.ToothID // of each triangle; nil without labels
	// Found is the teeth where the labels were found from the shape, Unfound why it could
	// not.
	Found   []findings.FoundTooth
	Doubts  []findings.ToothDoubt // what to look at of them
	Unfound error
	// Inputs are the files that it was read from.
	Inputs []findings.Input
	// Again is further scans of the same arch, each in a frame of its own.
	Again []Again
}

// Again is a further scan of an arch, from which the distortion of its scans is estimated.
type Again struct {
	Mesh *mesh.Mesh // mm, welded
	File string     // that it was read from, for messages
}

// Casts are two arches in the articulator frame, ready to be closed.
type Casts struct {
	// Upper and Lower are the casts as settled, Scanned is the lower one in the
	// relation in which the scans came; where nothing was moved it is Lower.
	Upper, Lower, Scanned *Cast
	// Settling is what was done between the two.
	Settling *findings.Settling
	// Mount is the rigid motion scan → articulator.
	Mount kinematics.Pose
	// Incisal is the lower incisal point in intercuspation in the articulator frame, nil
	// where it is not known.
	Incisal *r3.Vec
	// NoIncisal says why the incisal point is not known.
	NoIncisal error
	Closer    *contact.Closer
	// Found says which mounting points were found on the labelled arch.
	Found bool
}

// Cast is one arch in the articulator frame.
type Cast struct {
	// Arch is the surface that meets the other arch: the teeth where those of both arches
	// are labelled, else all. Its vertices are those of the whole scan.
	*contact.Arch
	Jaw   dentition.Jaw
	Teeth []dentition.ToothID // of each triangle of Arch; nil without labels
	// Whole is the whole scan, Arch's mesh where all of it meets the other arch.
	Whole *mesh.Mesh
	// WholeTeeth is the tooth of each triangle of Whole; nil without labels.
	WholeTeeth []dentition.ToothID
	// Unlabelled is surface that counts among the teeth without a label.
	Unlabelled []Unlabelled
	// Labels say which vertex belongs to which tooth; nil where there are none.
	Labels *dentition.Labels
	// ByPart is the tooth of each part number of the index.
	ByPart []dentition.ToothID
	// Frames is where each labelled tooth stands.
	Frames map[dentition.ToothID]anatomy.Frame
	// Landmarks are the features of the teeth, by tooth and feature.
	Landmarks []anatomy.Landmark
	// Found, Doubts, Unfound and Inputs are those of the scan.
	Found   []findings.FoundTooth
	Doubts  []findings.ToothDoubt
	Unfound error
	Inputs  []findings.Input
	// Again is further scans of the arch, each in a frame of its own.
	Again []Again
}

// Tooth is the tooth of a triangle, dentition.NoTooth where it is none.
func (c *Cast) Tooth(t mesh.TriID) dentition.ToothID {
	if c.Teeth == nil || t == mesh.None {
		return dentition.NoTooth
	}
	return c.Teeth[t]
}

// OfPart is the tooth of a part of the arch, dentition.NoTooth where it is none.
func (c *Cast) OfPart(part int32) dentition.ToothID {
	if part == contact.NoPart {
		return dentition.NoTooth
	}
	return c.ByPart[part]
}

// Surface is what of a labelled scan can meet the other arch.
type Surface bool

// Where only one of two arches is labelled, all of both counts.
const (
	AllSurface Surface = false
	TeethAlone Surface = true
)

// Meeting is what of two scans meets: the teeth where both are labelled.
func Meeting(upper, lower *Scan) Surface { return Surface(upper.Teeth != nil && lower.Teeth != nil) }

// NewCast moves a scan into the articulator frame and indexes what of it can meet the other
// arch.
func NewCast(ctx context.Context, s *Scan, jaw dentition.Jaw, mount kinematics.Pose, of Surface) (*Cast, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	m, err := s.Mesh.Transform(mount.Apply)
	if err != nil {
		return nil, err
	}
	c := &Cast{Jaw: jaw, Whole: m, WholeTeeth: s.Teeth, Teeth: s.Teeth, Labels: s.Labels,
		ByPart: []dentition.ToothID{dentition.NoTooth}, Found: s.Found, Doubts: s.Doubts,
		Unfound: s.Unfound, Inputs: s.Inputs, Again: s.Again}
	var parts []int32
	if s.Teeth != nil {
		var number [256]int32
		for i := range number {
			number[i] = index.NoPart
		}
		for _, t := range s.Labels.Teeth() {
			number[t] = int32(len(c.ByPart))
			c.ByPart = append(c.ByPart, t)
		}
		if c.Frames, err = toothFrames(m, s.Labels); err != nil {
			return nil, err
		}
		if c.Landmarks, err = anatomy.Landmarks(m, s.Labels); err != nil {
			return nil, err
		}
		if of == TeethAlone {
			if m, err = c.trim(); err != nil {
				return nil, err
			}
		}
		parts = make([]int32, len(c.Teeth))
		for i, t := range c.Teeth {
			parts[i] = number[t]
		}
	}
	c.Arch, err = contact.NewArch(ctx, m, parts, contact.Options{})
	return c, err
}

// Mount brings two scans into the articulator frame as the case says, and indexes
// them. It refuses arches that do not stand to each other as an upper and a lower one.
// The casts are neither settled nor ready to be closed yet.
func Mount(ctx context.Context, c *casefile.Case, upper, lower *Scan) (*Casts, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	out := &Casts{}
	if err := out.mount(c, upper, lower); err != nil {
		return nil, err
	}
	err := par.BothErr(func() (err error) {
		out.Upper, err = NewCast(ctx, upper, dentition.Upper, out.Mount, Meeting(upper, lower))
		return err
	}, func() (err error) {
		out.Scanned, err = NewCast(ctx, lower, dentition.Lower, out.Mount, Meeting(upper, lower))
		return err
	})
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		return nil, err
	}
	out.Lower = out.Scanned
	return out, out.check(c)
}

// apartMost is the gap, in mm, beyond which two scans cannot be in the
// intercuspal relation: more than the interocclusal distance of the jaw at
// rest, 2 to 4 mm (common practice, no source).
const apartMost = 5.0

// check says whether the arches stand to each other as upper and lower.
func (c *Casts) check(of *casefile.Case) error {
	up, lo := c.Upper.Mesh(), c.Lower.Mesh()
	var s contact.GapScratch
	gap, ok := contact.LeastGap(c.Upper.Index, c.Lower.Index, kinematics.Pose{}, apartMost, &s)
	if !ok {
		for _, bare := range []struct {
			scan string
			why  error
		}{{of.Upper.Scan, c.Upper.Unfound}, {of.Lower.Scan, c.Lower.Unfound}} {
			if bare.why != nil {
				return fmt.Errorf("%w: %s: %w; without teeth it meets nothing; where it has some, give their labels", ErrApart, bare.scan, bare.why)
			}
		}
		gap, _ = contact.LeastGap(c.Upper.Index, c.Lower.Index, kinematics.Pose{}, math.Inf(1), &s)
		return fmt.Errorf("%w: %s and %s are %.4g mm apart where they come nearest; both scans must be in one frame, "+
			"in the intercuspal relation; where they are not, cusptrace articulate puts them together: cusptrace articulate "+
			"%s %s --units %v -o together.yaml",
			ErrApart, of.Upper.Scan, of.Lower.Scan, gap.Dist, of.Upper.Scan, of.Lower.Scan, of.Units)
	}
	if u, l := up.Bounds().Center().Z, lo.Bounds().Center().Z; u <= l {
		return fmt.Errorf("%w: mounted, the upper arch (%s) does not lie above the lower one (%s); the scans may be "+
			"exchanged, or the mounting turned over",
			ErrSwapped, of.Upper.Scan, of.Lower.Scan)
	}
	return c.checkIncisal(of)
}
