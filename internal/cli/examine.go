package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/internal/trialfiles"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/report"
	"github.com/cusptrace/cusptrace/pkg/trial"
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
  finding-*.png          each finding at its moment, beside it in the page
  scene.glb              the casts and their movements (glTF 2.0), for other programs
  clearance-upper.ply    the scans coloured by their clearance in intercuspation
  clearance-lower.ply
  room-26.ply            a tooth to be restored, coloured by the room over it
  findings.json          everything, for programs (schema: cusptrace schema findings)
  contacts.csv           one contact a row
  frames.csv             one position of a movement a row
  results.sha256         checksums of these files

The results of an earlier examination of the same case are replaced as a whole; files
that somebody else wrote or changed, and results of another case, are not. It prints a
summary. docs/case-file.md describes the case file.

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
			case len(args) == 1 && meshfile.FormatOf(args[0]) != meshfile.FormatUnknown:
				return fmt.Errorf("%s is a scan: give an upper and a lower one with --units, or a case file", args[0])
			case len(args) == 1 && unit != "":
				return errors.New("--units goes with two scans; a case file says units itself")
			case dir == "":
				return errors.New("where should the results go? give a folder with -o DIR")
			case o.Samples < 0 || o.Samples > mostSamples:
				return fmt.Errorf("--samples: found %d, must be 0 (none) to %d", o.Samples, mostSamples)
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
	c.Flags().IntVar(&o.Samples, "samples", occlusion.DefaultSamples, "`number` of samples for how sure findings are, 0 for none")
	c.Flags().BoolVar(&o.AsSet, "as-set", false, "do not try whether findings hold with other condylar settings and axes")
	return c
}

// mostSamples is the most samples that are taken.
const mostSamples = 65536

// examination is a case that was read.
type examination struct {
	path     string
	c        *casefile.Case
	warnings []casefile.Warning
	// beside, if not nil, writes what belongs to the results but is no result.
	beside func() error
}

func readCase(path string) (*examination, error) {
	e := &examination{path: path}
	var err error
	e.c, e.warnings, err = casefile.Read(path)
	return e, err
}

// inputs are the files that are read.
func (e *examination) inputs() []string {
	out := []string{e.path}
	for _, name := range append(e.c.Upper.Files(), e.c.Lower.Files()...) {
		out = append(out, e.c.Path(name))
	}
	return out
}

// names are the files that come beside those that are always written.
func (o examineOptions) names(c *casefile.Case) []string {
	if o.tablesOnly {
		return nil
	}
	return report.Names(c.Restore)
}

func examine(ctx context.Context, g *gate, path, dir string, o examineOptions, stdout, stderr io.Writer) error {
	e, err := readCase(path)
	if err != nil {
		return err
	}
	folder, err := holdResults(g, e.inputs(), dir, o.names(e.c)...)
	if err != nil {
		return err
	}
	_, err = e.run(ctx, g, folder, o, stdout, stderr)
	return err
}

// load reads the scans of the case, for results that go into a folder, and finds the teeth where no
// labels are given.
func (e *examination) load(ctx context.Context, folder *report.Folder) (upper, lower *casts.Scan, err error) {
	if upper, lower, err = occlusion.Load(ctx, e.c); err != nil {
		return nil, nil, err
	}
	if err := folder.CheckCase(slices.Concat(upper.Inputs, lower.Inputs)); err != nil {
		return nil, nil, inputError{fmt.Errorf("%w with -o", err)}
	}
	return upper, lower, occlusion.FindTeeth(ctx, upper, lower)
}

// examined is an examination with what its page was made of; without a page that is nil.
type examined struct {
	trial.Examined
	drawn *trialfiles.Drawn
}

// run examines the case and writes the results.
func (e *examination) run(ctx context.Context, g *gate, folder *report.Folder, o examineOptions,
	stdout, stderr io.Writer) (*examined, error) {
	upper, lower, err := e.load(ctx, folder)
	if err != nil {
		return nil, err
	}
	pair, err := occlusion.Assemble(ctx, e.c, upper, lower)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", e.path, err)
	}
	line := newProgress(stderr)
	o.Progress, o.Sampled = line.show, line.sampled
	f, err := occlusion.Examine(ctx, e.c, pair, o.Options)
	line.clear()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", e.path, err)
	}
	for _, w := range e.warnings {
		f.Warnings = append(f.Warnings, language.Literal(w.String()))
	}
	x := &examined{Examined: trial.Examined{Case: e.c, Upper: upper, Lower: lower, Casts: pair, Findings: f}}
	var more []report.File
	if !o.tablesOnly {
		if x.drawn, err = trialfiles.Draw(ctx, &x.Examined, trialfiles.Options{Workers: o.Workers, Version: version()}); err != nil {
			return nil, fmt.Errorf("%s: page: %w", e.path, err)
		}
		more = x.drawn.Files
	}
	if err := g.write(func() error {
		if err := folder.Write(ctx, f, more...); err != nil || e.beside == nil {
			return err
		}
		return e.beside()
	}); err != nil {
		return nil, err
	}
	sayRemoved(stderr, folder)
	return x, report.WriteSummary(stdout, f, report.TextOptions{Colour: showsColours(stdout)})
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
