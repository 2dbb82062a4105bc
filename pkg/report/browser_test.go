package report_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/report"
)

// The page in a real browser; what is tried stands in internal/view/test.mjs. It needs
// the built view and Debian's chromium; CUSPTRACE_BROWSER=require makes their
// absence a failure.
func TestPageInBrowser(t *testing.T) {
	for _, need := range []string{"/usr/bin/chromium",
		filepath.Join("internal", "view", "node_modules", "playwright-core"), filepath.Join("internal", "view", "dist",
			"view.js"), filepath.Join("internal", "view", "test.mjs")} {
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
	for name, content := range made.files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), content, 0o600))
	}
	var findings bytes.Buffer
	require.NoError(t, report.WriteJSON(&findings, made.findings))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "findings.json"), findings.Bytes(), 0o600))
	cmd := exec.Command("node", "--test", "test.mjs")
	cmd.Dir = filepath.Join("internal", "view")
	cmd.Env = append(os.Environ(), "CUSPTRACE_REPORT="+dir)
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
}
