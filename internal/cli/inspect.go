package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"github.com/cusptrace/cusptrace/internal/plaintext"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/spf13/cobra"
)

// inspected is one file's entry in the JSON form of inspect.
type inspected struct {
	File   string         `json:"file"`
	Unit   mesh.Unit      `json:"unit"`
	Merged int            `json:"welded_corners"` // corners that welding joined
	Report inspect.Report `json:"report"`
	Signs  []inspect.Sign `json:"worth_a_look"`
}

func newInspect() *cobra.Command {
	var asJSON bool
	var unit string
	var u mesh.Unit
	c := &cobra.Command{
		Use:   "inspect FILE...",
		Short: "Report the health of scans",
		Long: `inspect reads scans (STL, PLY, OBJ), joins corners at equal places, and reports
what is wrong with the surfaces and whether each can serve as an upper or lower
arch. A scan that is ugly but measurable is measured all the same.`,
		Example: "  cusptrace inspect --units mm upper.stl lower.stl",
		Args: func(_ *cobra.Command, args []string) (err error) {
			if len(args) == 0 {
				return errors.New("which scans? give one or more files")
			}
			if unit == "" {
				return errors.New("scan files do not say their unit: give it with --units mm (or cm, m, inch, um)")
			}
			if u, err = mesh.ParseUnit(unit); err != nil {
				return fmt.Errorf("--units: %w", err)
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			return inspectFiles(c.Context(), args, u, asJSON, c.OutOrStdout())
		},
	}
	c.Flags().StringVar(&unit, "units", "", "`unit` of the files: mm, cm, m, inch or um (required)")
	c.Flags().BoolVar(&asJSON, "json", false, "write JSON")
	return c
}

func inspectFiles(ctx context.Context, files []string, u mesh.Unit, asJSON bool, w io.Writer) error {
	all := make([]inspected, 0, len(files))
	var errs []error
	for _, name := range files {
		if err := ctx.Err(); err != nil {
			return err
		}
		raw, err := meshfile.ReadFile(name, meshfile.ReadOptions{Unit: u})
		if err != nil {
			errs = append(errs, err)
			continue
		}
		m, _ := mesh.Weld(raw, 0)
		if err := inspect.CheckSize(m, u); err != nil {
			errs = append(errs, fmt.Errorf("%s: %w", name, err))
			continue
		}
		all = append(all, inspected{File: name, Unit: u, Merged: raw.NumVertices() - m.NumVertices(), Report: inspect.Surface(m),
			Signs: inspect.Signs(mesh.BuildTopology(m))})
	}
	if err := errors.Join(errs...); err != nil {
		return err
	}
	if asJSON {
		e := json.NewEncoder(w)
		e.SetIndent("", "  ")
		return e.Encode(all)
	}
	for i, x := range all {
		if i > 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "%s (read in %v, %d equal corners joined)\n", plaintext.Line(x.File), x.Unit, x.Merged)
		if err := x.Report.WriteText(w); err != nil {
			return err
		}
		if err := inspect.WriteSigns(w, x.Signs); err != nil {
			return err
		}
	}
	return nil
}
