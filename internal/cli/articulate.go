package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/articulate"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/cusptrace/cusptrace/pkg/report"
	"github.com/cusptrace/cusptrace/pkg/settle"
	"github.com/google/renameio/v2"
	"github.com/spf13/cobra"
	"gonum.org/v1/gonum/spatial/r3"
)

// handWork is what the articulate command is asked to do.
type handWork struct {
	upper, lower             string
	upperLabels, lowerLabels string
	unit                     mesh.Unit
	out                      string
	workers                  int
}

func newArticulate(g *gate) *cobra.Command {
	var w handWork
	var unit string
	c := &cobra.Command{
		Use:   "articulate UPPER LOWER -o CASE",
		Short: "Put two arches together by hand and write a case file",
		Long: `articulate takes an upper and a lower arch, each in a frame of its own, finds how
they fit together from their shape alone, and writes a case file with default
settings, ready to examine. The moved lower scan is written beside it, as CASE
without its ending plus -lower.stl.

It prints
  Fit       over what area the arches come close in the best place, and how far
            that is ahead of the next best one
  Relation  what was written: the rest, where the arches lock, or, where single
            high spots would hold them off, the best fit over all that comes close
  Rest      on what the arches lock when they are pressed together
  Note      what is worth a second look

Arches that fit nowhere, or as well in two places, are refused.`,
		Example: "  cusptrace articulate --units mm upper.stl lower.stl -o case.yaml",
		Args: func(_ *cobra.Command, args []string) (err error) {
			switch {
			case len(args) != 2:
				return errors.New("which arches? give the upper scan and then the lower one")
			case w.out == "":
				return errors.New("where should the case go? give a file with -o CASE")
			case unit == "":
				return errors.New("scan files do not say their unit: give it with --units mm (or cm, m, inch, um)")
			}
			if w.unit, err = mesh.ParseUnit(unit); err != nil {
				return fmt.Errorf("--units: %w", err)
			}
			w.upper, w.lower = args[0], args[1]
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error {
			return putTogether(c.Context(), g, w, c.OutOrStdout())
		},
	}
	f := c.Flags()
	f.StringVarP(&w.out, "output", "o", "", "case `file` to write (required)")
	f.StringVar(&unit, "units", "", "`unit` of the files: mm, cm, m, inch or um (required)")
	f.StringVar(&w.upperLabels, "upper-labels", "", "tooth labels `file` of the upper arch, for the case")
	f.StringVar(&w.lowerLabels, "lower-labels", "", "tooth labels `file` of the lower arch, for the case")
	f.IntVar(&w.workers, "workers", 0, "`number` of processors to use, 0 for all; it never changes the results")
	return c
}

// readArch reads one whole arch, welded.
func readArch(path string, u mesh.Unit) (*mesh.Mesh, error) {
	raw, err := meshfile.ReadFile(path, meshfile.ReadOptions{Unit: u})
	if err != nil {
		return nil, inputError{err}
	}
	m, _ := mesh.Weld(raw, 0)
	if err := inspect.CheckSize(m, u); err != nil {
		return nil, inputError{fmt.Errorf("%s: %w", path, err)}
	}
	return m, nil
}

func putTogether(ctx context.Context, g *gate, w handWork, stdout io.Writer) error {
	upper, err := readArch(w.upper, w.unit)
	if err != nil {
		return err
	}
	lower, err := readArch(w.lower, w.unit)
	if err != nil {
		return err
	}
	a, err := articulate.Articulate(ctx, upper, lower, w.workers)
	if errors.Is(err, settle.ErrArch) || errors.Is(err, articulate.ErrNoFit) {
		return inputError{err}
	} else if err != nil {
		return err
	}
	// The files keep the unit of the scans.
	moved, err := lower.Transform(func(p r3.Vec) r3.Vec { return r3.Scale(1/w.unit.MM(), a.UpperFromLower.Apply(p)) })
	if err != nil {
		return err
	}
	beside := strings.TrimSuffix(w.out, filepath.Ext(w.out)) + "-lower.stl"
	c, err := w.makeCase(a, filepath.Base(beside))
	if err != nil {
		return err
	}
	var text strings.Builder
	if err := casefile.Write(&text, c); err != nil {
		return err
	}
	err = g.write(func() error {
		if err := meshfile.WriteFile(beside, moved, nil); err != nil {
			return inputError{fmt.Errorf("cannot write the case: %w", err)}
		}
		if err := renameio.WriteFile(w.out, []byte(text.String()), 0o666); err != nil {
			return inputError{fmt.Errorf("cannot write the case: %w", errors.Join(err, os.Remove(beside)))}
		}
		return nil
	})
	if err != nil {
		return err
	}
	if err := report.WriteArticulated(stdout, a, report.TextOptions{Colour: showsColours(stdout)}); err != nil {
		return err
	}
	_, err = fmt.Fprintf(stdout, "\nWritten: %s and %s. Examine the case with\n  cusptrace examine %s -o OUT\n", w.out, beside, w.out)
	return err
}

// makeCase is the case of two arches in the frame of the upper one.
func (w handWork) makeCase(a *findings.Articulated, lower string) (*casefile.Case, error) {
	c := casefile.Default()
	c.Units = w.unit
	c.Lower.Scan = lower
	for _, p := range []struct {
		from string
		to   *string
	}{{w.upper, &c.Upper.Scan}, {w.upperLabels, &c.Upper.Labels}, {w.lowerLabels, &c.Lower.Labels}} {
		if p.from == "" {
			continue
		}
		path, err := from(filepath.Dir(w.out), p.from)
		if err != nil {
			return nil, err
		}
		*p.to = path
	}
	for _, p := range []struct {
		at r3.Vec
		to **casefile.Point
	}{{a.Incisal, &c.Mount.Average.IncisalPoint}, {a.Right, &c.Mount.Average.RightMolar}, {a.Left, &c.Mount.Average.LeftMolar}} {
		*p.to = &casefile.Point{p.at.X, p.at.Y, p.at.Z}
	}
	return c, nil
}

// from is a path as seen from a folder, with slashes.
func from(dir, path string) (string, error) {
	d, err := filepath.Abs(dir)
	if err != nil {
		return "", err
	}
	p, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	if r, err := filepath.Rel(d, p); err == nil {
		p = r
	}
	return filepath.ToSlash(p), nil
}
