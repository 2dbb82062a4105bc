package serve_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/serve"
	"github.com/cusptrace/cusptrace/internal/typodont"
)

// The whole way in a real browser, from two scans of a synthetic dentition to a report; what is tried
// stands in test.mjs. It needs what the browser test of pkg/report needs.
func TestInBrowser(t *testing.T) {
	view := filepath.Join("..", "..", "pkg", "report", "internal", "view")
	for _, need := range []string{"/usr/bin/chromium", filepath.Join(view, "node_modules", "playwright-core"),
		filepath.Join(view, "dist", "view.js.gz")} {
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
	made, err := typodont.Generate(context.Background(), typodont.Params{Triangles: 20000})
	require.NoError(t, err)
	scans := t.TempDir()
	require.NoError(t, made.WriteDir(scans))
	b := start(t, serve.Options{Samples: 4})
	cmd := exec.Command("node", "test.mjs")
	cmd.Env = append(os.Environ(), "CUSPTRACE_LINK="+b.s.Link(), "CUSPTRACE_SCANS="+scans)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	require.NoError(t, err, "%s", out)
	require.NoError(t, <-b.done, "ended in the page")
	t.Logf("%s", out)
}
