package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/internal/atomicfile"
	"github.com/cusptrace/cusptrace/internal/faults"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/change"
	"github.com/cusptrace/cusptrace/pkg/compare"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/report"
	"github.com/spf13/cobra"
)

func newCompare(g *gate) *cobra.Command {
	var dir string
	var both string
	c := &cobra.Command{
		Use:   "compare A B -o DIR",
		Short: "Put two examinations side by side",
		Long: `compare reads two examinations, folders that examine wrote or their findings.json,
and says which findings are new, gone, stronger or weaker and which centric stops were
kept, lost or made. It writes DIR/compare.json.

The first is the one before, or the teacher's; how many of its findings and stops the
second has (recall), and how many of those of the second it has (precision), is said too.
Of the same scans the comparison is exact. Of different scans of a person it says only
what both measured, and only changes larger than the uncertainty of both scans can make.
With --cases, the case files of both, the scans are laid over each other crown by crown,
and what was lost or gained on each is said as far as it can be proved. Different persons
or arches are refused.`,
		Example: "  cusptrace compare trial/before trial/after -o compared\n" +
			"  cusptrace compare 2024/out 2026/out --cases 2024/case.yaml,2026/case.yaml -o compared",
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case len(args) != 2:
				return fmt.Errorf("which two examinations? found %d: %s", len(args), strings.Join(args, ", "))
			case dir == "":
				return errors.New("where should the results go? give a folder with -o DIR")
			case both != "" && strings.Count(both, ",") != 1:
				return fmt.Errorf("--cases: found %s, must be the two case files, separated by a comma", both)
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			var cases []string
			if both != "" {
				cases = strings.Split(both, ",")
			}
			return compareTwo(c.Context(), g, args[0], args[1], cases, dir, c.OutOrStdout())
		},
	}
	c.Flags().StringVarP(&dir, "output", "o", "", "`folder` for the results; made if need be (required)")
	c.Flags().StringVar(&both, "cases", "", "case `files` of both, to lay their scans over each other")
	return c
}

// compared is the content of compare.json.
type compared struct {
	Format  string `json:"format"`
	Version int    `json:"version"`
	*compare.Comparison
	FindingsScore compare.Score `json:"findings_score"`
	StopsScore    compare.Score `json:"stops_score"`
}

func compareTwo(ctx context.Context, g *gate, first, second string, cases []string, dir string, stdout io.Writer) error {
	const name = "compare.json"
	folder, err := holdFolder(g, append([]string{first, second}, cases...), func() (*atomicfile.Folder, error) {
		return atomicfile.OpenFolder(dir, "compare.sha256", name)
	})
	if err != nil {
		return err
	}
	a, err := readFindings(first)
	if err != nil {
		return err
	}
	b, err := readFindings(second)
	if err != nil {
		return err
	}
	if err := compare.SamePerson(a, b); err != nil {
		return inputError{fmt.Errorf("%s and %s: %w", first, second, err)}
	}
	crowns, err := changedCrowns(ctx, cases, [2]*findings.Findings{a, b})
	if err != nil {
		return err
	}
	c := compare.Findings(a, b, crowns...)
	out := compared{Format: "cusptrace-compare", Version: 1, Comparison: c}
	out.FindingsScore, out.StopsScore = c.Scores()
	text, err := json.MarshalIndent(out, "", " ")
	if err != nil {
		return err
	}
	if err := g.write(func() error {
		write := func(w io.Writer) error { _, err := w.Write(append(text, '\n')); return err }
		return folder.Write(ctx, atomicfile.Content{Name: name, Write: write})
	}); err != nil {
		return err
	}
	return report.WriteComparison(stdout, c, report.TextOptions{Colour: showsColours(stdout)})
}

// changedCrowns measures what changed on the crowns between the scans of two cases, none where there are
// no cases. The scans must be those that were examined.
func changedCrowns(ctx context.Context, cases []string, examined [2]*findings.Findings) ([]compare.Crown, error) {
	if len(cases) == 0 {
		return nil, nil
	}
	var scans [2][2]*casts.Scan // of both arches of each case
	for i, path := range cases {
		e, err := readCase(path)
		if err != nil {
			return nil, err
		}
		upper, lower, err := occlusion.Load(ctx, e.c)
		if err != nil {
			return nil, err
		}
		for _, in := range slices.Concat(upper.Inputs, lower.Inputs) {
			for _, was := range examined[i].Inputs {
				if in.Role == was.Role && in.SHA256 != was.SHA256 && (in.Role == findings.UpperScan || in.Role == findings.LowerScan) {
					return nil, inputError{fmt.Errorf("%s: %s is not the scan that was examined; examine the case again", path, in.File)}
				}
			}
		}
		if err := occlusion.FindTeeth(ctx, upper, lower); err != nil {
			return nil, err
		}
		if upper.Teeth == nil || lower.Teeth == nil {
			return nil, inputError{fmt.Errorf("%s: --cases needs teeth on both arches, given or found", path)}
		}
		scans[i] = [2]*casts.Scan{upper, lower}
	}
	var out []compare.Crown
	for k, arch := range [2]string{"upper", "lower"} {
		list, err := change.Crowns(ctx, scans[0][k], scans[1][k])
		if errors.Is(err, change.ErrOther) {
			return nil, inputError{fmt.Errorf("%s, %s arch: %w", cases[1], arch, err)}
		}
		if err != nil {
			return nil, err
		}
		out = append(out, list...)
	}
	return out, nil
}

// largestFindings is the largest findings file that is read, bytes: that of an examination
// with 10,000 samples of each movement is smaller.
const largestFindings = 1 << 30

// readFindings reads an examination: a folder or its findings.json.
func readFindings(path string) (*findings.Findings, error) {
	s, err := os.Stat(path)
	if err != nil {
		return nil, &faults.Fault{File: path, Err: err}
	}
	if s.IsDir() {
		path = filepath.Join(path, report.Files[0])
		if s, err = os.Stat(path); err != nil {
			return nil, &faults.Fault{File: path, Err: fmt.Errorf("%w; give a folder that examine wrote", err)}
		}
	}
	if s.Size() > largestFindings {
		return nil, &faults.Fault{File: path, Err: fmt.Errorf("%d bytes, an examination has at most %d", s.Size(), largestFindings)}
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		return nil, &faults.Fault{File: path, Err: err}
	}
	var f struct {
		Format  string `json:"format"`
		Version int    `json:"version"`
	}
	if err := json.Unmarshal(raw, &f); err != nil {
		return nil, &faults.Fault{File: path, Err: fmt.Errorf("not an examination: %w; give a folder that examine wrote, "+
			"or its findings.json", err)}
	}
	if f.Format != findings.Format || f.Version != findings.Version {
		return nil, &faults.Fault{File: path,
			Err: fmt.Errorf("format %q version %d, must be %q version %d; examine the case again", f.Format, f.Version,
				findings.Format, findings.Version)}
	}
	doc := &findings.Findings{}
	if err := json.Unmarshal(raw, doc); err != nil {
		return nil, &faults.Fault{File: path, Err: fmt.Errorf("not an examination of this version: %w; examine the case again", err)}
	}
	return doc, nil
}
