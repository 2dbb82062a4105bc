package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/cusptrace/cusptrace/internal/atomicfile"
	"github.com/cusptrace/cusptrace/internal/faults"
	"github.com/cusptrace/cusptrace/pkg/compare"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report"
	"github.com/spf13/cobra"
)

func newCompare(g *gate) *cobra.Command {
	var dir string
	c := &cobra.Command{
		Use:   "compare A B -o DIR",
		Short: "Put two examinations side by side",
		Long: `compare reads two examinations, folders that examine wrote or their findings.json,
and says which findings are new, gone, stronger or weaker and which centric stops were
kept, lost or made. It writes DIR/compare.json.

The first is the one before, or the teacher's; how many of its findings and stops the
second has (recall), and how many of those of the second it has (precision), is said too.
Of the same scans the comparison is exact. Of different scans it says what both
examinations found; different persons are refused.`,
		Example: "  cusptrace compare trial/before trial/after -o compared",
		Args: func(_ *cobra.Command, args []string) error {
			switch {
			case len(args) != 2:
				return fmt.Errorf("which two examinations? found %d: %s", len(args), strings.Join(args, ", "))
			case dir == "":
				return errors.New("where should the results go? give a folder with -o DIR")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			return compareTwo(c.Context(), g, args[0], args[1], dir, c.OutOrStdout())
		},
	}
	c.Flags().StringVarP(&dir, "output", "o", "", "`folder` for the results; made if need be (required)")
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

func compareTwo(ctx context.Context, g *gate, first, second, dir string, stdout io.Writer) error {
	const name = "compare.json"
	folder, err := holdFolder(g, []string{first, second}, func() (*atomicfile.Folder, error) {
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
	c := compare.Findings(a, b)
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
