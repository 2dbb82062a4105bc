package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/report"
	"github.com/spf13/cobra"
	"golang.org/x/term"
)

func newExamine(g *gate) *cobra.Command {
	var dir, unit string
	var u mesh.Unit
	var o examineOptions
	c := &cobra.Command{
		Use:   "examine CASE -o DIR, or examine UPPER LOWER --units mm -o DIR",
		Short: "Examine the casts of a case file, or two scans as they are",
		Long: `examine reads a case file, mounts and closes the casts, takes them through the
movements of the case, and writes into DIR

  report.html            a page to read, with a 3D view; opens from disk
  picture-*.png          the casts from seven sides, for letters and slides
  scene.glb              the casts and their movements (glTF 2.0), for other programs
  clearance-upper.ply    the scans coloured by their clearance in intercuspation
  clearance-lower.ply
  room-26.ply            a tooth to be restored, coloured by the room over it
  findings.json          everything, for programs (schema: cusptrace schema findings)
  contacts.csv           one contact a row
  frames.csv             one position of a movement a row

It prints a summary. docs/case-file.md describes the case file.

Two scans in intercuspation need none: their teeth are found, upper is told from
lower by the shape, mean values are assumed, and DIR/case.yaml says so.`,
		Example: "  cusptrace examine case.yaml -o out\n  cusptrace examine upper.stl lower.stl --units mm -o out",
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case len(args) == 0:
				return errors.New("which case? give a case file, or an upper and a lower scan")
			case len(args) > 2:
				return fmt.Errorf("one case file or two scans at a time, found %d: %s", len(args), strings.Join(args, ", "))
			case len(args) == 2 && unit == "":
				return errors.New("scan files do not say their unit: give it with --units mm (or cm, m, inch, um)")
			case len(args) == 1 && unit != "":
				return errors.New("--units goes with two scans; a case file says units itself")
			case dir == "":
				return errors.New("where should the results go? give a folder with -o DIR")
			case o.Workers < 0:
				return fmt.Errorf("--workers: found %d, must be 0 (all processors) or more", o.Workers)
			case unit != "":
				var err error
				if u, err = mesh.ParseUnit(unit); err != nil {
					return fmt.Errorf("--units: %w", err)
				}
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 2 {
				return examineScans(c.Context(), g, [2]string(args), u, dir, o, c.OutOrStdout(), c.ErrOrStderr())
			}
			return examine(c.Context(), g, args[0], dir, o, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	c.Flags().StringVarP(&dir, "output", "o", "", "`folder` for the results; made if need be (required)")
	c.Flags().StringVar(&unit, "units", "", "`unit` of two bare scans: mm, cm, m, inch or um")
	c.Flags().IntVar(&o.Workers, "workers", 0, "`number` of processors to use, 0 for all; it never changes the results")
	c.Flags().BoolVar(&o.tablesOnly, "tables-only", false, "write only findings.json and the two CSV files")
	c.Flags().BoolVar(&o.AsSet, "as-set", false, "do not try whether findings hold with other condylar settings and axes")
	return c
}

func examine(ctx context.Context, g *gate, path, dir string, o examineOptions, stdout, stderr io.Writer) error {
	c, warnings, err := casefile.Read(path)
	if err != nil {
		return err
	}
	var names []string
	if !o.tablesOnly {
		names = report.Names(c.Restore)
	}
	if err := canWrite(g, dir, names...); err != nil {
		return err
	}
	upper, lower, err := occlusion.Load(ctx, c)
	if err != nil {
		return err
	}
	if err := occlusion.FindTeeth(ctx, upper, lower); err != nil {
		return err
	}
	casts, err := occlusion.Assemble(ctx, c, upper, lower)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	line := newProgress(stderr)
	o.Progress = line.show
	f, err := occlusion.Examine(ctx, c, casts, o.Options)
	line.clear()
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	for _, w := range warnings {
		f.Warnings = append(f.Warnings, language.Literal(w.String()))
	}
	var more []report.File
	if !o.tablesOnly {
		if more, err = page(ctx, path, c, casts, f, o.Workers); err != nil {
			return fmt.Errorf("%s: page: %w", path, err)
		}
	}
	if err := g.write(func() error { return report.WriteDir(ctx, dir, f, more...) }); err != nil {
		return err
	}
	return report.WriteSummary(stdout, f, report.TextOptions{Colour: showsColours(stdout)})
}

// showsColours says whether a writer is a terminal that shows colours, and whose
// owner did not ask for none (no-color.org).
func showsColours(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd())) && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
}

// examineOptions are how an examination is run and what it leaves.
type examineOptions struct {
	occlusion.Options
	tablesOnly bool
}

// page makes report.html and the pictures.
func page(ctx context.Context, path string, c *casefile.Case, casts *casts.Casts, f *findings.Findings,
	workers int) ([]report.File, error) {
	d, err := display.New(ctx, casts, f, display.Options{Workers: workers})
	if err != nil {
		return nil, err
	}
	o, err := report.NewOrigin(path, c)
	if err != nil {
		return nil, err
	}
	r := report.Report{Findings: f, Display: d, Origin: o}
	return r.Files(ctx, report.Options{Workers: workers})
}

// canWrite says, before anything is computed, whether results can go into a
// folder, among them files with more names.
func canWrite(g *gate, dir string, more ...string) error {
	err := g.try(func() error { return report.CheckDir(dir, more...) })
	if err == nil || errors.Is(err, context.Canceled) {
		return err
	}
	return inputError{fmt.Errorf("%w; choose another with -o", err)}
}
