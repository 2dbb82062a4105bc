package serve

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/segment"
	"gonum.org/v1/gonum/spatial/r3"
)

// health is what the page tells of a surface.
type health struct {
	report inspect.Report
	text   string
}

// sureJaw is the certainty from which two scans that look like different jaws are not asked
// for; the command draws the same line.
const sureJaw = 0.3

// jaws of the scans in turn, once it is told which is which.
var jaws = [2]dentition.Jaw{dentition.Upper, dentition.Lower}

// extension is that under which a scan is kept: that of its name if it is one of a scan.
func extension(name string) string {
	if e := strings.ToLower(filepath.Ext(name)); meshfile.FormatOf(name) != meshfile.FormatUnknown {
		return e
	}
	return ".scan"
}

// look reads the scans: their unit, their health and which is which, and the teeth if that is
// plain. The caller holds mu.
func (s *session) look() {
	scans := [2]scan{*s.scans[0], *s.scans[1]}
	unit, told := s.unit, s.told
	s.start(language.Say("serve.working.reading"), func(ctx context.Context) (func(), error) {
		var meshes [2]*mesh.Mesh
		asked, err := s.readBoth(ctx, &scans, &meshes, unit)
		if err != nil {
			return nil, s.refuse(err)
		}
		if asked {
			return func() { *s.scans[0], *s.scans[1] = scans[0], scans[1] }, nil
		}
		if unit == mesh.UnitUnknown {
			unit = mesh.Millimetre
		}
		var both *dentition.Jaw
		if !told {
			exchanged := false
			if exchanged, told, both, err = tellJaws(ctx, &scans, meshes); err != nil {
				return nil, err
			}
			if exchanged {
				scans[0], scans[1], meshes[0], meshes[1] = scans[1], scans[0], meshes[1], meshes[0]
			}
		}
		if told {
			s.show(language.Say("serve.working.teeth"), 0, 0)
			if err := s.findBoth(ctx, &scans, meshes); err != nil {
				return nil, err
			}
			if err := s.name(&scans); err != nil {
				return nil, err
			}
		}
		return func() {
			*s.scans[0], *s.scans[1] = scans[0], scans[1]
			s.unit, s.told, s.both = unit, told, both
		}, nil
	})
}

// refuse drops scans that cannot be read, so that others can be given.
func (s *session) refuse(err error) error {
	if errors.Is(err, context.Canceled) {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	text := s.words(err)
	for _, x := range s.scans {
		_ = os.Remove(s.files.path(x.file)) // the folder goes in the end
	}
	s.forget()
	return errors.New(text)
}

// readBoth reads two scans; asked says that their size does not fit the unit and another would.
func (s *session) readBoth(ctx context.Context, scans *[2]scan, meshes *[2]*mesh.Mesh, unit mesh.Unit) (asked bool, err error) {
	assumed := unit
	if unit == mesh.UnitUnknown {
		assumed = mesh.Millimetre
	}
	read := func(i int) error {
		m, err := s.read(ctx, scans[i].file, assumed)
		if err != nil {
			return err
		}
		meshes[i], scans[i].fits = m, assumed
		var size *inspect.SizeError
		if err := inspect.CheckArch(m, assumed); errors.As(err, &size) && size.Fits != mesh.UnitUnknown && unit == mesh.UnitUnknown {
			scans[i].fits = size.Fits
			return nil
		} else if err != nil {
			return fmt.Errorf("%s: %w", scans[i].name, err)
		}
		r := inspect.Surface(m)
		var text bytes.Buffer
		if err := r.WriteText(&text); err != nil {
			return err
		}
		scans[i].health = &health{r, text.String()}
		return nil
	}
	err = par.BothErr(func() error { return read(0) }, func() error { return read(1) })
	return unit == mesh.UnitUnknown && (scans[0].fits != assumed || scans[1].fits != assumed), err
}

func (s *session) read(ctx context.Context, file string, unit mesh.Unit) (*mesh.Mesh, error) {
	raw, err := meshfile.ReadFile(s.files.path(file), meshfile.ReadOptions{Unit: unit})
	if err != nil {
		return nil, err
	}
	m, _ := mesh.Weld(raw, 0)
	return m, ctx.Err()
}

// tellJaws guesses which scan is the upper one; told says that it is plain, both which jaw both look like.
func tellJaws(ctx context.Context, scans *[2]scan, meshes [2]*mesh.Mesh) (exchanged, told bool, both *dentition.Jaw, err error) {
	look := func(i int) (err error) {
		scans[i].jaw, scans[i].sure, err = segment.LooksLike(ctx, meshes[i])
		if errors.Is(err, segment.ErrNoArch) {
			return nil // then the person says it
		}
		return err
	}
	if err := par.BothErr(func() error { return look(0) }, func() error { return look(1) }); err != nil {
		return false, false, nil, err
	}
	a, b := &scans[0], &scans[1]
	told = a.jaw != b.jaw && a.jaw != 0 && b.jaw != 0 && max(a.sure, b.sure) > sureJaw
	if a.jaw == b.jaw && a.jaw != 0 && min(a.sure, b.sure) > sureJaw {
		both = &a.jaw
	}
	return a.jaw == dentition.Lower && b.jaw != dentition.Lower, told, both, nil
}

// findBoth finds the teeth of both scans.
func (s *session) findBoth(ctx context.Context, scans *[2]scan, meshes [2]*mesh.Mesh) error {
	return par.BothErr(func() error { return s.findTeeth(ctx, &scans[0], meshes[0], jaws[0]) },
		func() error { return s.findTeeth(ctx, &scans[1], meshes[1], jaws[1]) })
}

// findTeeth fills in the teeth of a scan and how it is shown. With corrections it also writes the labels file.
func (s *session) findTeeth(ctx context.Context, x *scan, m *mesh.Mesh, jaw dentition.Jaw) (err error) {
	x.teeth, x.doubts = nil, nil
	labels, err := s.labelsOf(ctx, x, m, jaw)
	if err != nil {
		return err
	}
	x.points = findPoints(m, labels)
	if x.shown, err = newSurface(m, labels); err != nil {
		return err
	}
	s.see(jaw, &sight{x.shown, x.teeth})
	return nil
}

// see shows how far the teeth of a jaw are found.
func (s *session) see(jaw dentition.Jaw, now *sight) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.job != nil {
		s.job.seen[slices.Index(jaws[:], jaw)] = now
		s.job.sights++
		s.tell()
	}
}

// labelsOf reads the labels of a scan or finds its teeth; nil where it shows no arch.
func (s *session) labelsOf(ctx context.Context, x *scan, m *mesh.Mesh, jaw dentition.Jaw) (*dentition.Labels, error) {
	if x.given {
		f, err := os.Open(s.files.path(x.labels))
		if err != nil {
			return nil, err
		}
		l, err := dentition.ReadLabels(x.labels, f, jaw, m.NumVertices())
		if err := errors.Join(err, f.Close()); err != nil {
			return nil, err
		}
		for _, t := range l.Teeth() {
			x.teeth = append(x.teeth, tooth{id: t, sure: 1})
		}
		return l, nil
	}
	x.labels = ""
	var o segment.Options
	for _, c := range x.corrections {
		if err := o.Say(c); err != nil {
			return nil, err
		}
	}
	plain, err := newSurface(m, nil)
	if err != nil {
		return nil, err
	}
	o.Seen = func(seen segment.Sight) { s.see(jaw, plain.sight(&seen)) }
	found, err := segment.Find(ctx, m, jaw, o)
	if len(x.corrections) == 0 && (errors.Is(err, segment.ErrNoArch) || errors.Is(err, segment.ErrJawShape)) {
		return nil, nil // the examination says so
	}
	if errors.Is(err, segment.ErrCorrection) {
		return nil, errors.New(s.o.Language.Write(language.Say("serve.correct.refused", language.With{"why": err.Error()}), s.c.Notation))
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", x.name, err)
	}
	for _, t := range found.Teeth {
		x.teeth = append(x.teeth, tooth{id: t.Tooth, sure: t.Confidence, unsure: t.Unsure(), at: onCrown(m, found.Labels, t.Tooth)})
	}
	x.doubts = occlusion.ToothDoubts(found.Doubts)
	if len(x.corrections) == 0 {
		return found.Labels, nil
	}
	var text bytes.Buffer
	if err := found.Labels.Write(&text); err != nil {
		return nil, err
	}
	x.labels = jaw.String() + ".labels.json"
	return found.Labels, s.files.store(x.labels, &text)
}

// onCrown is the vertex of a tooth nearest to the middle of its vertices.
func onCrown(m *mesh.Mesh, l *dentition.Labels, t dentition.ToothID) r3.Vec {
	var sum r3.Vec
	n := 0
	for v := range m.NumVertices() {
		if l.Vertex(mesh.VertexID(v)) == t {
			sum = r3.Add(sum, m.Vertex(mesh.VertexID(v)))
			n++
		}
	}
	middle := r3.Scale(1/float64(max(n, 1)), sum)
	best, least := middle, -1.0
	for v := range m.NumVertices() {
		if l.Vertex(mesh.VertexID(v)) == t {
			if d := r3.Norm2(r3.Sub(m.Vertex(mesh.VertexID(v)), middle)); least < 0 || d < least {
				best, least = m.Vertex(mesh.VertexID(v)), d
			}
		}
	}
	return best
}

// name brings the scans to the names that the case gives them.
func (s *session) name(scans *[2]scan) error {
	return s.files.write(func() error {
		var to [2]string
		for i := range scans {
			to[i] = jaws[i].String() + filepath.Ext(scans[i].file)
			if err := os.Rename(s.files.path(scans[i].file), s.files.path("moved-"+to[i])); err != nil {
				return err
			}
		}
		for i := range scans {
			if err := os.Rename(s.files.path("moved-"+to[i]), s.files.path(to[i])); err != nil {
				return err
			}
			scans[i].file = to[i]
		}
		return nil
	})
}

// correct finds the teeth of one jaw again with other corrections; undo are then all that can be
// taken back. The caller holds mu.
func (s *session) correct(i int, corrections []string, undo []int) {
	x := *s.scans[i]
	x.corrections, x.given = corrections, false
	unit := s.unit
	s.start(language.Say("serve.working.teeth"), func(ctx context.Context) (func(), error) {
		m, err := s.read(ctx, x.file, unit)
		if err != nil {
			return nil, err
		}
		if err := s.findTeeth(ctx, &x, m, jaws[i]); err != nil {
			return nil, err
		}
		return func() { *s.scans[i], s.undo = x, undo }, nil
	})
}
