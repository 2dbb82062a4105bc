// Package occlusion examines two casts as a case says: it mounts them, closes
// them, takes them through the movements of the jaw and writes down what meets
// what. It joins the packages mesh, dentition, kinematics and contact; what it
// finds are [Findings], which package report presents.
package occlusion

import (
	"context"
	"errors"
	"fmt"
	"os"

	"github.com/cusptrace/cusptrace/internal/faults"
	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/cusptrace/cusptrace/pkg/segment"
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
	// Found is the teeth where [FindTeeth] made the labels, Unfound why it could
	// not.
	Found   []segment.FoundTooth
	Unfound error
}

// Load reads the scans and labels of a case. Mistakes in the files are faults
// that name file and place.
func Load(ctx context.Context, c *casefile.Case) (upper, lower *Scan, err error) {
	err = both(func() (err error) {
		upper, err = loadScan(ctx, c, c.Upper, dentition.Upper)
		return err
	}, func() (err error) {
		lower, err = loadScan(ctx, c, c.Lower, dentition.Lower)
		return err
	})
	return upper, lower, err
}

// both does the work on the two arches at once. The errors come in the order
// of the arches, whichever was ready first.
func both(upper, lower func() error) error {
	var errs [2]error
	par.Both(func() { errs[0] = upper() }, func() { errs[1] = lower() })
	return errors.Join(errs[0], errs[1])
}

func loadScan(ctx context.Context, c *casefile.Case, a casefile.Arch, jaw dentition.Jaw) (*Scan, error) {
	path := c.Path(a.Scan)
	raw, err := meshfile.ReadFile(path, meshfile.ReadOptions{Unit: c.Units})
	if err != nil {
		return nil, faultIn(path, err)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	m, _ := mesh.Weld(raw, 0)
	if err := inspect.CheckSize(m, c.Units); err != nil {
		return nil, faultIn(path, err)
	}
	s := &Scan{Mesh: m, Merged: raw.NumVertices() - m.NumVertices()}
	if a.Labels == "" {
		return s, ctx.Err()
	}
	path = c.Path(a.Labels)
	f, err := os.Open(path)
	if err != nil {
		return nil, faultIn(path, err)
	}
	defer f.Close()
	if s.Labels, err = dentition.ReadLabels(path, f, jaw, m.NumVertices()); err != nil {
		return nil, faultIn(path, err)
	}
	if s.Teeth, err = s.Labels.Triangles(m); err != nil {
		return nil, faultIn(path, err)
	}
	return s, ctx.Err()
}

// faultIn makes err a fault of an input file, unless it is one.
func faultIn(path string, err error) error {
	var parse *meshfile.ParseError
	if faults.In(err) || errors.As(err, &parse) {
		return err
	}
	return &faults.Fault{File: path, Err: err}
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
	// Incisal is the lower incisal point at rest in the articulator frame, nil
	// where it is not known.
	Incisal *r3.Vec
	Closer  *contact.Closer
	// Found says which mounting points were found on the labelled arch.
	Found bool
}

// Cast is one arch in the articulator frame.
type Cast struct {
	*contact.Arch
	Jaw   dentition.Jaw
	Teeth []dentition.ToothID // of each triangle; nil without labels
	// Labels say which vertex belongs to which tooth; nil where there are none.
	Labels *dentition.Labels
	// ByPart is the tooth of each part number of the index.
	ByPart []dentition.ToothID
	// Frames is where each labelled tooth stands.
	Frames map[dentition.ToothID]anatomy.Frame
	// Landmarks are the features of the teeth, by tooth and feature.
	Landmarks []anatomy.Landmark
	// Found and Unfound are those of the scan.
	Found   []segment.FoundTooth
	Unfound error
}

// Tooth is the tooth of a triangle, dentition.NoTooth where it is none.
func (c *Cast) Tooth(t mesh.TriID) dentition.ToothID {
	if c.Teeth == nil || t == mesh.None {
		return dentition.NoTooth
	}
	return c.Teeth[t]
}

// newCast moves a scan into the articulator frame and indexes it.
func newCast(ctx context.Context, s *Scan, jaw dentition.Jaw, mount kinematics.Pose) (*Cast, error) {
	m, err := s.Mesh.Transform(mount.Apply)
	if err != nil {
		return nil, err
	}
	c := &Cast{Jaw: jaw, Teeth: s.Teeth, Labels: s.Labels, ByPart: []dentition.ToothID{dentition.NoTooth}, Found: s.Found, Unfound: s.Unfound}
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
		parts = make([]int32, len(s.Teeth))
		for i, t := range s.Teeth {
			parts[i] = number[t]
		}
		if c.Frames, err = toothFrames(m, s.Labels); err != nil {
			return nil, err
		}
		if c.Landmarks, err = anatomy.Landmarks(m, s.Labels); err != nil {
			return nil, err
		}
	}
	c.Arch, err = contact.NewArch(ctx, m, parts, contact.Options{})
	return c, err
}

// Assemble mounts two scans as the case says and prepares them for closing. It
// refuses arches that do not stand to each other as an upper and a lower one.
func Assemble(ctx context.Context, c *casefile.Case, upper, lower *Scan) (*Casts, error) {
	casts := &Casts{}
	if err := casts.mount(c, upper, lower); err != nil {
		return nil, err
	}
	err := both(func() (err error) {
		casts.Upper, err = newCast(ctx, upper, dentition.Upper, casts.Mount)
		return err
	}, func() (err error) {
		casts.Scanned, err = newCast(ctx, lower, dentition.Lower, casts.Mount)
		return err
	})
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		return nil, err
	}
	casts.Lower = casts.Scanned
	if err := casts.check(c); err != nil {
		return nil, err
	}
	if err := casts.settle(ctx, c, lower); err != nil {
		return nil, err
	}
	casts.Closer, err = contact.NewCloser(ctx, casts.Upper.Arch, casts.Lower.Arch, contact.Options{})
	return casts, err
}

// settle brings the lower cast from the relation of the scans to where the case
// wants it. What is searched on it is built anew there, so that poses count from
// the settled cast.
func (c *Casts) settle(ctx context.Context, of *casefile.Case, lower *Scan) error {
	o := SettleOptions{How: of.Settle.How, DoubtUm: of.Settle.DoubtUm}
	if p := of.Settle.PressPoint; p != nil {
		at := c.Mount.Apply(p.Vec())
		o.PressPoint = &at
	}
	if p := of.Settle.PressDirection; p != nil {
		along := c.Mount.Rotate(p.Vec())
		o.PressDirection = &along
	}
	var err error
	if c.Settling, err = Settle(ctx, c.Upper, c.Scanned, o); err != nil {
		return err
	}
	pose := c.Settling.Pose.Pose
	if pose == (kinematics.Pose{}) {
		return nil
	}
	if c.Incisal != nil {
		p := pose.Apply(*c.Incisal)
		c.Incisal = &p
	}
	c.Lower, err = newCast(ctx, lower, dentition.Lower, c.Mount.Then(pose))
	return err
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
		gap, _ = contact.LeastGap(c.Upper.Index, c.Lower.Index, kinematics.Pose{}, infinity, &s)
		return fmt.Errorf("%w: %s and %s are %.4g mm apart where they come nearest; both scans must be in one frame, in the intercuspal relation",
			ErrApart, of.Upper.Scan, of.Lower.Scan, gap.Dist)
	}
	if u, l := up.Bounds().Center().Z, lo.Bounds().Center().Z; u <= l {
		return fmt.Errorf("%w: mounted, the upper arch (%s) does not lie above the lower one (%s); the scans may be exchanged, or the mounting turned over",
			ErrSwapped, of.Upper.Scan, of.Lower.Scan)
	}
	return nil
}
