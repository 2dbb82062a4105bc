package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/cusptrace/cusptrace/internal/atomicfile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/segment"
	"github.com/spf13/cobra"
)

func newSegment(g *gate) *cobra.Command {
	var out, jaw, unit, colours string
	var replace bool
	var correct []string
	c := &cobra.Command{
		Use:   "segment SCAN --units mm -o LABELS.json",
		Short: "Find the teeth of an unlabelled arch",
		Long: `segment finds the teeth of the scan of one whole arch from its shape alone,
numbers them, and writes a labels file for a case. It tells the jaw by the shape
too, unless --jaw says it, and prints how sure it is of each tooth. Look at the result:
what is wrong can be corrected by pointing at a tooth, or at a place where none stands:

  --correct 16=12.3,40.1,-2    the point (in the scan's frame, mm) is on 16
  --correct 0=10,45,-1         no tooth stands there
  --correct 14+15=14           what was found as 14 and 15 is one tooth, 14
  --correct 14=14+15           what was found as 14 is two teeth, 14 and 15
  --correct 14=15              what was found as 14 is 15
  --correct 14..=15..          14 is 15, and so on with everything behind it
  --correct 16=border/12.3,40.1,-2/14,41.5,-2.2/...
                               the border of 16 runs through these points, all around
                               it where the last is the first; else between its ends

Where another program has coloured the teeth of a PLY file, vertex by vertex or
face by face, --colours reads them instead, with a table of a colour and its
tooth on each line: "#ff0000 11", "255 255 255 0" for no tooth.`,
		Example: "  cusptrace segment upper.stl --units mm -o upper.labels.json",
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case len(args) != 1:
				return fmt.Errorf("one scan at a time, found %d", len(args))
			case jaw != "" && jaw != "upper" && jaw != "lower":
				return fmt.Errorf("--jaw: found %q, must be upper or lower", jaw)
			case unit == "":
				return errors.New("scan files do not say their unit: give it with --units mm (or cm, m, inch, um)")
			case colours != "" && len(correct) > 0:
				return errors.New("--correct goes with teeth that are found, not with --colours")
			case out == "":
				return errors.New("where should the labels go? give a file with -o LABELS.json")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			u, err := mesh.ParseUnit(unit)
			if err != nil {
				return inputError{fmt.Errorf("--units: %w", err)}
			}
			var o segment.Options
			for _, s := range correct {
				if err := o.Say(s); err != nil {
					return inputError{fmt.Errorf("--correct: %w", err)}
				}
			}
			named := map[string]dentition.Jaw{"upper": dentition.Upper, "lower": dentition.Lower}[jaw]
			if err := holdFile(g, append(args, colours), replace, out); err != nil {
				return err
			}
			if colours != "" {
				return labelByColours(c.Context(), g, args[0], colours, out, named, u, c.OutOrStdout())
			}
			return labelTeeth(c.Context(), g, args[0], out, named, u, o, c.OutOrStdout())
		},
	}
	f := c.Flags()
	f.StringVarP(&out, "output", "o", "", "labels `file` to write (required)")
	f.BoolVar(&replace, "replace", false, "the labels file may exist already and is replaced")
	f.StringVar(&jaw, "jaw", "", "`upper` or lower, where the shape is not to tell it")
	f.StringVar(&unit, "units", "", "`unit` of the scan: mm, cm, m, inch or um (required)")
	f.StringVar(&colours, "colours", "", "`table` of the colours that stand for teeth in the scan, a PLY file")
	f.StringArrayVar(&correct, "correct", nil, "`tooth=…`: a point, teeth or a border, as above; may be given again")
	return c
}

// namedOrTold is the jaw that a person named or, where none was, that which the shape of a scan
// tells.
func namedOrTold(ctx context.Context, scan string, m *mesh.Mesh, named dentition.Jaw) (dentition.Jaw, error) {
	if named != 0 {
		return named, nil
	}
	jaw, sure, err := segment.LooksLike(ctx, m)
	switch {
	case errors.Is(err, segment.ErrNoArch):
		return 0, noTeeth(scan, err)
	case err == nil && sure < unsureJaw:
		err = inputError{fmt.Errorf("%s: the shape does not tell the jaw: give it with --jaw upper or --jaw lower", scan)}
	}
	return jaw, err
}

// noTeeth says what to do with a scan that shows no teeth.
func noTeeth(scan string, err error) error {
	return inputError{fmt.Errorf("%s: %w; without teeth there is nothing to label; where it has some, label them by hand or "+
		"read them from a coloured PLY (--colours)", scan, err)}
}

// labelTeeth finds the teeth of a scan and writes their labels.
func labelTeeth(ctx context.Context, g *gate, scan, out string, jaw dentition.Jaw, u mesh.Unit, o segment.Options, stdout io.Writer) error {
	raw, err := meshfile.ReadFile(scan, meshfile.ReadOptions{Unit: u})
	if err != nil {
		return inputError{err}
	}
	m, _ := mesh.Weld(raw, 0)
	if err := inspect.CheckArch(m, u); err != nil {
		return fmt.Errorf("%s: %w", scan, err)
	}
	if jaw, err = namedOrTold(ctx, scan, m, jaw); err != nil {
		return err
	}
	found, err := segment.Find(ctx, m, jaw, o)
	if errors.Is(err, segment.ErrNoArch) {
		return noTeeth(scan, err)
	}
	if errors.Is(err, segment.ErrJawShape) ||
		errors.Is(err, segment.ErrCorrection) || errors.Is(err, dentition.ErrJaw) || errors.Is(err, dentition.ErrTooth) {
		return inputError{fmt.Errorf("%s: %w", scan, err)}
	}
	if err != nil {
		return err
	}
	var text bytes.Buffer
	if err := found.Labels.Write(&text); err != nil {
		return err
	}
	if err := g.write(func() error { return atomicfile.WriteFile(out, text.Bytes(), 0o644) }); err != nil {
		return err
	}
	fmt.Fprintf(stdout, "%d teeth found in %s (%v arch)\n", len(found.Teeth), scan, jaw)
	for _, t := range found.Teeth {
		doubt := ""
		if t.Unsure() {
			doubt = "  look at this one"
		}
		fmt.Fprintf(stdout, "  %v  %-32s %5.0f %% sure%s\n", t.Tooth, t.Tooth.Name(), 100*t.Confidence, doubt)
	}
	if len(found.Doubts) > 0 {
		fmt.Fprintln(stdout, "Look at")
		for _, d := range occlusion.ToothDoubts(found.Doubts) {
			fmt.Fprintf(stdout, "  %v (at %.1f, %.1f, %.1f)\n", d.Text, d.At[0], d.At[1], d.At[2])
		}
	}
	return nil
}
