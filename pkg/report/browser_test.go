package report_test

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report"
)

// The page in a real browser; what is tried stands in internal/view/test.mjs. It needs
// the built view and Debian's chromium; CUSPTRACE_BROWSER=require makes their
// absence a failure.
func TestPageInBrowser(t *testing.T) {
	for _, need := range []string{"/usr/bin/chromium",
		filepath.Join("internal", "view", "node_modules", "playwright-core"), filepath.Join("internal", "view", "dist",
			"view.js.gz"), filepath.Join("internal", "view", "test.mjs")} {
		if _, err := os.Stat(need); err != nil {
			if os.Getenv("CUSPTRACE_BROWSER") == "require" {
				t.Fatalf("%s is missing: install chromium and run go generate ./pkg/report", need)
			}
			t.Skipf("%s is missing: install chromium and run go generate ./pkg/report", need)
		}
	}
	if testing.Short() {
		t.Skip("a browser takes long")
	}
	dir := t.TempDir()
	made, err := theReport()
	require.NoError(t, err)
	doc := withInterferences(made.findings)
	r := report.Report{Findings: doc, Display: made.display, Version: "v1"}
	files, err := r.Files(context.Background(), report.Options{})
	require.NoError(t, err)
	for _, x := range files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, x.Name), x.Content, 0o600))
	}
	shown := 0
	for _, x := range files {
		if strings.HasPrefix(x.Name, "finding-") {
			require.Contains(t, string(files[0].Content), x.Name)
			require.Regexp(t, `^finding-\d+-[a-z-]+-\d\d-\d\d(-[a-z]+)?\.png$`, x.Name)
			shown++
		}
	}
	require.GreaterOrEqual(t, shown, 2, "a picture of each interference")
	var text bytes.Buffer
	require.NoError(t, report.WriteJSON(&text, doc))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "findings.json"), text.Bytes(), 0o600))
	cmd := exec.Command("node", "--test", "test.mjs")
	cmd.Dir = filepath.Join("internal", "view")
	cmd.Env = append(os.Environ(), "CUSPTRACE_REPORT="+dir)
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
}

// withInterferences are findings with two interferences more, which rows of cusps do not
// have: at the first contact of the third station of the first two movements, the second
// one below the scan uncertainty. The report computes nothing about teeth; it shows what
// it is given.
func withInterferences(f *findings.Findings) *findings.Findings {
	doc := *f
	doc.Excursions = slices.Clone(f.Excursions)
	for i := range 2 {
		x := &doc.Excursions[i]
		fr := &x.Frames[2]
		c, high := &fr.Contacts[0], 200.0-180*float64(i)
		x.Findings = append(slices.Clone(x.Findings), findings.Finding{
			Kind: findings.KindWorkingInterference, Severity: 1 + i, Upper: c.Upper, Lower: c.Lower, FromMM: fr.TravelMM, ToMM: fr.TravelMM,
			AtMM: fr.TravelMM, PointMM: &c.PointMM, HeightUm: &high, FoilUm: c.FoilUm, Doubtful: i == 1,
			Text: language.Literal("Interference of a test in " + string(x.Movement) + " movement."),
		})
	}
	return &doc
}
