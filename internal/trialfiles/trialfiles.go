// Package trialfiles makes the files of a trial treatment, for the command and the page alike.
package trialfiles

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/cusptrace/cusptrace/pkg/report"
	"github.com/cusptrace/cusptrace/pkg/trial"
)

// Options are how the files are made.
type Options struct {
	// Workers is the number of goroutines, 0 for one a processor.
	Workers int
	// Version is that of the program, for the pages.
	Version string
	// Language is that of the pages, English where it is nil.
	Language *language.Language
	// GuideTable is a table for an incisal pin, nil for none.
	GuideTable *mesh.Mesh
	// Before, if not nil, is what was drawn of the examination before, which is then not drawn again.
	Before *Drawn
}

// Drawn is the files of an examination beside its findings, and what they were made of.
type Drawn struct {
	Report *report.Report
	Files  []report.File
}

// Draw makes the page and the pictures of an examination.
func Draw(ctx context.Context, x *trial.Examined, o Options) (*Drawn, error) {
	d, err := display.New(ctx, x.Casts, x.Findings, display.Options{Workers: o.Workers})
	if err != nil {
		return nil, err
	}
	out := &Drawn{Report: &report.Report{Findings: x.Findings, Display: d, Version: o.Version, Language: o.Language}}
	out.Files, err = out.Report.Files(ctx, report.Options{Workers: o.Workers})
	return out, err
}

// Files are the files of a trial treatment: its own, and those of the examinations before and after
// beside their findings.
type Files struct{ Own, Before, After []report.File }

// Names are those that the trial's own files may have.
func Names() []string {
	return []string{
		"report.html", "trial.json", "case.yaml", "upper.stl", "lower.stl", "upper.labels.json", "lower.labels.json",
		"print-upper.stl", "print-lower.stl", "wax.stl", "guide-table.stl",
	}
}

// Make makes the files of a trial treatment.
func Make(ctx context.Context, r *trial.Result, o Options) (*Files, error) {
	before := o.Before
	if before == nil {
		var err error
		if before, err = Draw(ctx, &r.Before, o); err != nil {
			return nil, fmt.Errorf("before: page: %w", err)
		}
	}
	after, err := Draw(ctx, &r.After, o)
	if err != nil {
		return nil, fmt.Errorf("after: page: %w", err)
	}
	out, opt := &Files{Before: before.Files, After: after.Files}, report.Options{Workers: o.Workers}
	p := report.Trial{Treatment: r.Treatment, Before: before.Report, After: after.Report, FilesBefore: out.Before, FilesAfter: out.After,
		Upper: r.UpperMM, Lower: r.LowerMM}
	html, err := p.File(ctx, opt)
	if err != nil {
		return nil, fmt.Errorf("page: %w", err)
	}
	if out.Own, err = ownFiles(r, o.GuideTable); err != nil {
		return nil, err
	}
	out.Own = append(out.Own, html)
	return out, nil
}

// ownFiles are the casts, the guide table, if any, the case and the document.
func ownFiles(r *trial.Result, table *mesh.Mesh) ([]report.File, error) {
	var files []report.File
	text, err := json.MarshalIndent(r.Treatment, "", " ")
	if err != nil {
		return nil, err
	}
	files = append(files, report.File{Name: "trial.json", Content: append(text, '\n')})
	after := *r.After.Case
	after.Upper = casefile.Arch{Scan: "upper.stl", Labels: "upper.labels.json"}
	after.Lower = casefile.Arch{Scan: "lower.stl", Labels: "lower.labels.json"}
	var b bytes.Buffer
	if err := casefile.Write(&b, &after); err != nil {
		return nil, err
	}
	files = append(files, report.File{Name: "case.yaml", Content: bytes.Clone(b.Bytes())})
	for i, s := range []*casts.Scan{r.After.Upper, r.After.Lower} {
		list, err := castFiles([]string{"upper", "lower"}[i], s)
		if err != nil {
			return nil, err
		}
		files = append(files, list...)
	}
	for _, p := range []struct {
		name string
		mesh *mesh.Mesh
	}{{"print-upper.stl", r.PrintUpper}, {"print-lower.stl", r.PrintLower}, {"wax.stl", r.Wax}, {"guide-table.stl", table}} {
		if p.mesh == nil {
			continue
		}
		f, err := stlFile(p.name, p.mesh)
		if err != nil {
			return nil, err
		}
		files = append(files, f)
	}
	return files, nil
}

// castFiles are the surface of a cast and its labels.
func castFiles(name string, s *casts.Scan) ([]report.File, error) {
	f, err := stlFile(name+".stl", s.Mesh)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := s.Labels.Write(&b); err != nil {
		return nil, err
	}
	return []report.File{f, {Name: name + ".labels.json", Content: b.Bytes()}}, nil
}

func stlFile(name string, m *mesh.Mesh) (report.File, error) {
	var b bytes.Buffer
	err := meshfile.WriteSTL(&b, m)
	return report.File{Name: name, Content: b.Bytes()}, err
}
