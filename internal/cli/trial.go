package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/cusptrace/cusptrace/internal/atomicfile"
	"github.com/cusptrace/cusptrace/internal/trialfiles"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/report"
	"github.com/cusptrace/cusptrace/pkg/trial"
	"github.com/spf13/cobra"
)

func newTrial(g *gate) *cobra.Command {
	var dir string
	var o trial.Options
	pin := pinOption{radius: 1}
	c := &cobra.Command{
		Use:   "trial CASE -o DIR",
		Short: "Try a treatment on copies of the casts and look again",
		Long: `trial carries out the steps under trial in the case file on copies of the casts:
it takes away what is in the way, and no more, keeps the centric stops, adds wax, and
examines the casts before and after. It writes into DIR

  report.html            before and after, what was removed or added, steps to tick
  trial.json             the steps, for programs
  upper.stl, lower.stl   the casts afterwards, with upper.labels.json, lower.labels.json
  print-upper.stl, ...   the same with a base, closed, to be printed
  case.yaml              the case afterwards, ready to examine
  wax.stl                the wax alone, where there is some
  guide-table.stl        with --pin, a table on which an incisal pin slides as the teeth
                         guide the casts afterwards, to be printed and fixed to the lower one
  before, after          both examinations

What cannot be done within its limits is refused, with the position, the pair of teeth
and the number. docs/case-file.md describes the steps. Tooth reduction cannot be undone:
this is a trial on casts, not an indication.`,
		Example: "  cusptrace trial case.yaml -o trial",
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case len(args) == 0:
				return errors.New("which case? give a case file with steps under trial")
			case len(args) > 1:
				return fmt.Errorf("one case file at a time, found %d: %s", len(args), strings.Join(args, ", "))
			case dir == "":
				return errors.New("where should the results go? give a folder with -o DIR")
			case o.Samples < 0 || o.Samples > mostSamples:
				return fmt.Errorf("--samples: found %d, must be 0 (none) to %d", o.Samples, mostSamples)
			case o.Workers < 0:
				return fmt.Errorf("--workers: found %d, must be 0 (all processors) or more", o.Workers)
			}
			return pin.check()
		},
		RunE: func(c *cobra.Command, args []string) error {
			return try(c.Context(), g, args[0], dir, o, pin, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	c.Flags().StringVarP(&dir, "output", "o", "", "`folder` for the results; made if need be (required)")
	c.Flags().IntVar(&o.Workers, "workers", 0, "`number` of processors to use, 0 for all; it never changes the results")
	c.Flags().IntVar(&o.Samples, "samples", occlusion.DefaultSamples, "`number` of samples for the ranges of depths, 0 for none")
	c.Flags().BoolVar(&o.AsSet, "as-set", false, "do not try whether findings hold with other condylar settings and axes")
	c.Flags().StringVar(&pin.tip, "pin", "", "guide table for an incisal pin, its ball at `x,y,z` of the scans")
	c.Flags().Float64Var(&pin.radius, "pin-radius", pin.radius, "`mm` of radius of that ball, 0.25 to 10")
	return c
}

// pinOption is the incisal pin for which a guide table is made; none without a tip.
type pinOption struct {
	tip    string
	radius float64 // mm
}

func (p pinOption) check() error {
	if p.tip == "" {
		return nil
	}
	if _, err := parsePoint(p.tip, 1); err != nil {
		return fmt.Errorf("--pin: %w", err)
	}
	return nil
}

// table is the guide table of the casts afterwards; nil without a pin.
func (p pinOption) table(ctx context.Context, c *casefile.Case, x *trial.Examined) (*mesh.Mesh, error) {
	if p.tip == "" {
		return nil, nil
	}
	tip, err := parsePoint(p.tip, c.Units.MM())
	if err != nil {
		return nil, err
	}
	m, err := trial.GuideTable(ctx, x, tip, p.radius)
	if errors.Is(err, trial.ErrTable) {
		return nil, inputError{fmt.Errorf("--pin: %w", err)}
	}
	return m, err
}

// trialFolders are the folders into which a trial writes.
type trialFolders struct {
	own           *atomicfile.Folder
	before, after *report.Folder
}

// holdTrial takes hold of the folders of a trial.
func holdTrial(g *gate, e *examination, dir string) (f trialFolders, err error) {
	f.own, err = holdFolder(g, e.inputs(), func() (*atomicfile.Folder, error) {
		return atomicfile.OpenFolder(dir, "steps.sha256", trialfiles.Names()...)
	})
	if err != nil {
		return f, err
	}
	names := report.Names(e.c.Restore)
	if f.before, err = holdResults(g, e.inputs(), filepath.Join(dir, "before"), names...); err != nil {
		return f, err
	}
	f.after, err = holdResults(g, e.inputs(), filepath.Join(dir, "after"), names...)
	return f, err
}

// try carries out the trial treatment of a case.
func try(ctx context.Context, g *gate, path, dir string, o trial.Options, pin pinOption, stdout, stderr io.Writer) error {
	e, err := readCase(path)
	if err != nil {
		return err
	}
	if len(e.c.Trial) == 0 {
		return inputError{fmt.Errorf("%s: there are no steps under trial; add some, such as\n  trial: [{adjust: {what: [premature]}}]", path)}
	}
	folders, err := holdTrial(g, e, dir)
	if err != nil {
		return err
	}
	upper, lower, err := e.load(ctx, folders.before)
	if err != nil {
		return err
	}
	return e.try(ctx, g, folders, &examined{Examined: trial.Examined{Upper: upper, Lower: lower}}, o, pin, stdout, stderr)
}

// try carries out the trial treatment of a case on scans, which were examined before or not yet.
func (e *examination) try(ctx context.Context, g *gate, folders trialFolders, x *examined, o trial.Options, pin pinOption,
	stdout, stderr io.Writer) error {
	path := e.path
	line := newProgress(stderr)
	o.Progress = func(what string, done, total int) {
		if what == "samples" {
			line.sampled(done, total)
			return
		}
		line.show(done, total)
	}
	if x.Findings != nil {
		o.Before = &x.Examined
	}
	r, err := trial.Run(ctx, e.c, x.Upper, x.Lower, o)
	line.clear()
	if errors.Is(err, trial.ErrTrial) {
		return inputError{fmt.Errorf("%s: %w", path, err)}
	}
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if o.Before == nil {
		for _, w := range e.warnings {
			r.Before.Findings.Warnings = append(r.Before.Findings.Warnings, language.Literal(w.String()))
		}
	}
	table, err := pin.table(ctx, e.c, &r.After)
	if err != nil {
		return err
	}
	files, err := trialfiles.Make(ctx, r, trialfiles.Options{Workers: o.Workers, Version: version(), GuideTable: table, Before: x.drawn})
	if err != nil {
		return err
	}
	if err := writeTrial(ctx, g, folders, r, files); err != nil {
		return err
	}
	return report.WriteTrial(stdout, r.Treatment, report.TextOptions{Colour: showsColours(stdout)})
}

// writeTrial writes the files of a trial.
func writeTrial(ctx context.Context, g *gate, folders trialFolders, r *trial.Result, files *trialfiles.Files) error {
	var contents []atomicfile.Content
	for _, f := range files.Own {
		contents = append(contents, atomicfile.Content{Name: f.Name, Write: func(w io.Writer) error {
			_, err := w.Write(f.Content)
			return err
		}})
	}
	return g.write(func() error {
		if err := folders.before.Write(ctx, r.Before.Findings, files.Before...); err != nil {
			return err
		}
		if err := folders.after.Write(ctx, r.After.Findings, files.After...); err != nil {
			return err
		}
		return folders.own.Write(ctx, contents...)
	})
}
