package report_test

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/golden"
	"github.com/cusptrace/cusptrace/internal/testcase"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/report"
)

var files = golden.New("testdata/golden")

func TestMain(m *testing.M) { os.Exit(files.Run(m)) }

// plain is the synthetic case as it is, examined once; tests only read it.
var plain = sync.OnceValues(func() (*findings.Findings, error) {
	dir, err := os.MkdirTemp("", "report")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	return examine(dir, func(*casefile.Case) {})
})

// examined is the synthetic case, examined; edit, if not nil, changes it.
func examined(t testing.TB, edit func(*casefile.Case)) *findings.Findings {
	t.Helper()
	if edit == nil {
		f, err := plain()
		require.NoError(t, err)
		return f
	}
	f, err := examine(t.TempDir(), edit)
	require.NoError(t, err)
	return f
}

func examine(dir string, edit func(*casefile.Case)) (*findings.Findings, error) {
	path, err := testcase.New(8).Write(dir, func(c *casefile.Case) {
		for i := range c.Excursions {
			c.Excursions[i].MaxMM, c.Excursions[i].StepMM = 3, 0.5
		}
		edit(c)
	})
	if err != nil {
		return nil, err
	}
	c, _, err := casefile.Read(path)
	if err != nil {
		return nil, err
	}
	ctx := context.Background()
	upper, lower, err := occlusion.Load(ctx, c)
	if err != nil {
		return nil, err
	}
	casts, err := occlusion.Assemble(ctx, c, upper, lower)
	if err != nil {
		return nil, err
	}
	return occlusion.Examine(ctx, c, casts, occlusion.Options{})
}

var number = regexp.MustCompile(`-?\d+\.\d+(e-?\d+)?|-?\d+e-?\d+`)

// rounded rounds the numbers of a text to 1e-6: kinds of processors differ in
// the last digits.
func rounded(t testing.TB, text string) string {
	return number.ReplaceAllStringFunc(text, func(s string) string {
		v, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		s = strconv.FormatFloat(v, 'f', 6, 64)
		if s == "-0.000000" {
			return s[1:]
		}
		return s
	})
}

func text(t testing.TB, write func(io.Writer, *findings.Findings) error, f *findings.Findings) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, write(&b, f))
	return b.String()
}

func TestFilesOfTheSyntheticCase(t *testing.T) {
	f := examined(t, nil)
	files.Check(t, "contacts.csv", rounded(t, text(t, report.WriteContacts, f)))
	files.Check(t, "frames.csv", rounded(t, text(t, report.WriteFrames, f)))
	files.Check(t, "summary.txt", text(t, summary(false), f))
	colours := text(t, summary(true), f)
	files.Check(t, "summary-colours.txt", colours)
	require.Equal(t, text(t, summary(false), f), regexp.MustCompile("\x1b\\[[0-9]+m").ReplaceAllString(colours, ""),
		"colours add nothing but themselves")
}

// summary is the text form with or without colours.
func summary(colour bool) func(io.Writer, *findings.Findings) error {
	return func(w io.Writer, f *findings.Findings) error {
		return report.WriteSummary(w, f, report.TextOptions{Colour: colour})
	}
}

func TestSummaries(t *testing.T) {
	for name, edit := range map[string]func(*casefile.Case){
		"summary-unlabelled.txt": func(c *casefile.Case) { c.Upper.Labels, c.Lower.Labels = "", "" },
		"summary-record.txt": func(c *casefile.Case) {
			c.Record = &casefile.Record{FoilUm: 8,
				Foil: map[dentition.ToothID]casefile.Hold{16: casefile.Holds, 15: casefile.Passes, 46: casefile.LightDrag, 38: casefile.Holds},
				Marks: casefile.Marks{Centric: []casefile.Mark{{Upper: 16, Lower: 46}, {Upper: 14, Lower: 43}},
					Right: []casefile.Mark{{Upper: 13, Lower: 43}, {Upper: 27}}}}
			c.Excursions = c.Excursions[:1]
		},
		"summary-quadrant.txt": func(c *casefile.Case) { c.Notation = dentition.Quadrant },
		"summary-table.txt": func(c *casefile.Case) {
			c.Settings.Guidance = casefile.Guidance{By: casefile.ByTable, InclinationDeg: 10}
		},
		"summary-matrix.txt": func(c *casefile.Case) {
			c.Mount = casefile.Mount{Matrix: &[16]float64{1, 0, 0, 0, 0, 1, 0, -50, 0, 0, 1, -35, 0, 0, 0, 1}}
			c.Settle = casefile.Default().Settle
			c.Settings.ReferencePlane = casefile.AxisOrbitalPlane
			c.Settings.Left.ImmediateSideShiftMM = 0.5
		},
	} {
		files.Check(t, name, text(t, summary(false), examined(t, edit)))
	}
}

// docs/findings.md names every column.
func TestDocumentationNamesEveryColumn(t *testing.T) {
	doc, err := os.ReadFile("../../docs/findings.md")
	require.NoError(t, err)
	f := examined(t, nil)
	sections := strings.Split(string(doc), "\n## ")
	for name, write := range map[string]func(io.Writer, *findings.Findings) error{"contacts.csv": report.WriteContacts,
		"frames.csv": report.WriteFrames} {
		i := slices.IndexFunc(sections, func(s string) bool { return strings.HasPrefix(s, name+"\n") })
		require.GreaterOrEqual(t, i, 0, name)
		head, _, _ := strings.Cut(text(t, write, f), "\n")
		for _, column := range strings.Split(head, ",") {
			if strings.HasPrefix(column, "clearance_") {
				column = "clearance_16_mm"
			}
			require.Contains(t, sections[i], "`"+column+"`", name)
		}
	}
}

// Numbers in the files read back exactly.
// Texts for people follow the notation of the case, files keep ISO 3950.
func TestNotation(t *testing.T) {
	f := *examined(t, nil)
	tables := text(t, report.WriteContacts, &f)
	pair := regexp.MustCompile(`\b[1-8][1-8]/[1-8][1-8]\b`)
	summary := func() string {
		var b bytes.Buffer
		require.NoError(t, report.WriteSummary(&b, &f, report.TextOptions{}))
		return b.String()
	}
	require.Regexp(t, pair, summary())
	f.Notation = dentition.Quadrant
	require.NotRegexp(t, pair, summary())
	require.NotContains(t, summary(), " 16 ")
	require.Equal(t, tables, text(t, report.WriteContacts, &f))
	require.Contains(t, text(t, report.WriteJSON, &f), `"upper": "16"`)
}

func TestNumbersReadBack(t *testing.T) {
	f := examined(t, nil)
	var back findings.Findings
	written := text(t, report.WriteJSON, f)
	require.NoError(t, json.Unmarshal([]byte(written), &back))
	require.Equal(t, written, text(t, report.WriteJSON, &back))
	require.Len(t, back.Excursions, len(f.Excursions))
	for i := range f.Excursions { // texts read back as plain words
		require.Len(t, back.Excursions[i].Frames, len(f.Excursions[i].Frames))
		for j, want := range f.Excursions[i].Frames {
			// A pose is kept as a turn and written as a matrix: the matrix reads back, the turn
			// made of it may differ in its last digit.
			got := back.Excursions[i].Frames[j]
			require.Equal(t, want.Pose.Matrix(), got.Pose.Matrix())
			got.Pose = want.Pose
			require.Equal(t, want, got)
		}
	}
	require.Equal(t, f.Centric.Contacts, back.Centric.Contacts)
}

func TestWriteDirLeavesNothingWhenCancelled(t *testing.T) {
	f := examined(t, nil)
	dir := t.TempDir()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	require.ErrorIs(t, report.WriteDir(ctx, filepath.Join(dir, "a", "b"), f), context.Canceled)
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Empty(t, entries)

	// What is there stays as it is.
	require.NoError(t, report.WriteDir(context.Background(), dir, f))
	old, err := os.ReadFile(filepath.Join(dir, report.Files[0]))
	require.NoError(t, err)
	g := *f
	g.Name = "again"
	require.ErrorIs(t, report.WriteDir(ctx, dir, &g), context.Canceled)
	now, err := os.ReadFile(filepath.Join(dir, report.Files[0]))
	require.NoError(t, err)
	require.Equal(t, string(old), string(now))

	require.NoError(t, report.WriteDir(context.Background(), dir, &g))
	entries, err = os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, entries, 1+len(report.Files), "no temporary files")
	require.NoError(t, report.WriteDir(context.Background(), filepath.Join(dir, "a", "b"), f))
	folder, err := report.OpenFolder(filepath.Join(dir, "c", "d"))
	require.NoError(t, err)
	require.NoError(t, folder.Close())
	require.NoDirExists(t, filepath.Join(dir, "c"))
}

// A file that cannot take its place leaves neither itself nor the others.
func TestWriteDirCleansUpAfterAFailure(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(dir, report.Files[0]), 0o777))
	_, err := report.OpenFolder(dir)
	require.Error(t, err)
	require.Error(t, report.WriteDir(context.Background(), dir, examined(t, nil)))
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, entries, 1)
}
