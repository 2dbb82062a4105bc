package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/cusptrace/cusptrace/internal/atomicfile"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/report"
	"github.com/cusptrace/cusptrace/pkg/trial"
	"github.com/spf13/cobra"
)

func newTypodont(g *gate) *cobra.Command {
	var dir string
	var disturb []string
	var p typodont.Params
	c := &cobra.Command{
		Use:   "typodont -o DIR",
		Short: "Make synthetic casts with known truth",
		Long: `typodont makes a pair of synthetic arches that occlude by construction, with a
case file ready to examine, tooth labels, and truth.json: where every cusp, stop,
guiding surface and disturbance is. The same flags give the same bytes.

Disturbances are a kind and what it needs, for example
  raise,tooth=26,cusp=mesiopalatal,um=150
  interference,tooth=37,movement=right,mm=2,um=200
Kinds: raise, drift, tip, rotate, interference, flat_canine, incisor, missing,
open_anterior, facet, noise, hole, island, flipped; docs/typodont.md has the rest.`,
		Example: "  cusptrace typodont -o casts --disturb raise,tooth=26,um=150",
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case len(args) > 0:
				return fmt.Errorf("no arguments, only flags; found %s", strings.Join(args, ", "))
			case dir == "":
				return errors.New("where should the casts go? give a folder with -o DIR")
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error {
			for _, s := range disturb {
				d, err := typodont.ParseDisturbance(s)
				if err != nil {
					return inputError{fmt.Errorf("--disturb: %w", err)}
				}
				p.Disturbances = append(p.Disturbances, d)
			}
			made, err := makeCasts(c.Context(), g, p, dir)
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(c.OutOrStdout(),
				"%s: upper %d and lower %d triangles, %d stops, %d expected findings; examine with\n  cusptrace examine %s -o OUT\n",
				dir, made.Upper.Mesh.NumTriangles(), made.Lower.Mesh.NumTriangles(), len(made.Truth.Stops), len(made.Truth.Expected), filepath.Join(dir, typodont.CaseFile))
			return err
		},
	}
	f := c.Flags()
	f.StringVarP(&dir, "output", "o", "", "`folder` for the casts; made if need be (required)")
	f.StringArrayVar(&disturb, "disturb", nil, "`disturbance` to build in; may be given again")
	f.IntVar(&p.Triangles, "triangles", 50000, "about how `many` triangles an arch, 20000 to 1000000")
	f.BoolVar(&p.ThirdMolars, "third-molars", false, "with third molars")
	f.Float64Var(&p.Overjet, "overjet", 0, "overjet in `mm`, 2 to 3; 0 for the usual")
	f.Float64Var(&p.Overbite, "overbite", 0, "overbite in `mm`, 2.4 to 3.6; 0 for the usual")
	f.Uint64Var(&p.Seed, "seed", 0, "`number` that starts the scan noise")
	return c
}

func makeCasts(ctx context.Context, g *gate, p typodont.Params, dir string) (*typodont.Case, error) {
	folder, err := holdFolder(g, nil, func() (*atomicfile.Folder, error) { return typodont.OpenDir(dir) })
	if err != nil {
		return nil, err
	}
	made, err := typodont.Generate(ctx, p)
	if errors.Is(err, typodont.ErrParams) {
		return nil, inputError{err}
	}
	if err != nil {
		return nil, err
	}
	return made, g.write(func() error { return made.Write(ctx, folder) })
}

func newDemo(g *gate) *cobra.Command {
	var dir string
	c := &cobra.Command{
		Use:   "demo -o DIR",
		Short: "Make the casts of an invented person and examine them",
		Long: `demo makes synthetic casts of an invented person with three disturbances worth
finding, writes them with their truth into DIR/casts, and examines them as
"cusptrace examine DIR/casts/case.yaml -o DIR" would. Then it tries to treat them on
copies, as "cusptrace trial DIR/casts/case.yaml -o DIR/trial" would, but that other
settings are not tried on the casts afterwards.`,
		Example: "  cusptrace demo -o demo",
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case len(args) > 0:
				return fmt.Errorf("no arguments, only -o DIR; found %s", strings.Join(args, ", "))
			case dir == "":
				return errors.New("where should the results go? give a folder with -o DIR")
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error {
			return demo(c.Context(), g, dir, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	c.Flags().StringVarP(&dir, "output", "o", "", "`folder` for casts and results; made if need be (required)")
	return c
}

func demo(ctx context.Context, g *gate, dir string, stdout, stderr io.Writer) error {
	folder, err := holdResults(g, nil, dir, report.Names(typodont.Demo().Restore)...)
	if err != nil {
		return err
	}
	casts := filepath.Join(dir, "casts")
	if _, err := makeCasts(ctx, g, typodont.Demo(), casts); err != nil {
		return err
	}
	e, err := readCase(filepath.Join(casts, typodont.CaseFile))
	if err != nil {
		return err
	}
	o := examineOptions{Options: occlusion.Options{Samples: occlusion.DefaultSamples}}
	x, err := e.run(ctx, g, folder, o, stdout, stderr)
	if err != nil {
		return err
	}
	if _, err := fmt.Fprintln(stdout); err != nil {
		return err
	}
	folders, err := holdTrial(g, e, filepath.Join(dir, "trial"))
	if err != nil {
		return err
	}
	return e.try(ctx, g, folders, x, trial.Options{AsSet: true}, pinOption{}, stdout, stderr)
}
