package serve_test

import (
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/cli"
	"github.com/cusptrace/cusptrace/internal/serve"
	"github.com/cusptrace/cusptrace/internal/testcast"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
)

// What is tried in the page is what the command tries, byte for byte, from the case that is saved; what was
// examined stays what it was.
func TestTryTreatment(t *testing.T) {
	if testing.Short() {
		t.Skip("it examines five times")
	}
	made, err := testcast.Generated(typodont.Params{Triangles: 20000}, "raise,tooth=26,um=200")
	require.NoError(t, err)
	dir := t.TempDir()
	require.NoError(t, made.WriteDir(dir))
	path := filepath.Join(dir, "case.yaml")
	c, _, err := casefile.Read(path)
	require.NoError(t, err)
	c.Excursions = c.Excursions[:1]
	c.Excursions[0].MaxMM, c.Excursions[0].StepMM = 1, 0.5
	var text bytes.Buffer
	require.NoError(t, casefile.Write(&text, c))
	require.NoError(t, os.WriteFile(path, text.Bytes(), 0o600))
	b := start(t, serve.Options{Version: "(devel)", Samples: 1})
	b.give([2]string{"small.zip", zipOf(t, dir)})
	b.stage()
	require.Equal(t, 404, b.ask("GET", "/trial.html", nil, nil).StatusCode)
	b.press("examine")
	_, stage := b.stage()
	require.Equal(t, "report", stage, b.page())
	require.Contains(t, b.page(), `name="step" value="0"`)
	b.press("try")
	b.stage()
	require.Contains(t, b.page(), "Choose at least one step")
	b.press("try", "step", "99")
	b.stage()
	require.Contains(t, b.page(), "Choose at least one step")

	b.press("try", "step", "0")
	_, stage = b.stage()
	require.Equal(t, "report", stage)
	require.NotContains(t, b.page(), `id="problem"`)
	for _, path := range []string{"/trial.html", "/trial-before.html", "/trial-after.html"} {
		r := b.ask("GET", path, nil, nil)
		require.Equal(t, 200, r.StatusCode, path)
		require.Contains(t, r.Header.Get("Content-Security-Policy"), "sandbox allow-scripts")
	}
	r := b.ask("GET", "/case.zip", nil, nil)
	saved, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	dir = t.TempDir()
	files := unpack(t, saved, dir)
	require.NotContains(t, files["case.yaml"], "trial:")
	require.Contains(t, files["trial.yaml"], "trial:")
	var stderr bytes.Buffer
	out := filepath.Join(dir, "again")
	require.Zero(t, cli.Run(context.Background(), []string{"trial", filepath.Join(dir, "trial.yaml"), "-o", out}, nil, io.Discard, &stderr),
		stderr.String())
	compared := 0
	for name, content := range files {
		if base, ok := strings.CutPrefix(name, "trial/"); ok {
			again, err := os.ReadFile(filepath.Join(out, filepath.FromSlash(base)))
			require.NoError(t, err)
			require.True(t, content == string(again), "%s differs", base)
			compared++
		}
	}
	require.Greater(t, compared, 20)
	b.press("change")
	_, stage = b.stage()
	require.Equal(t, "case", stage)
	require.Equal(t, 404, b.ask("GET", "/trial.html", nil, nil).StatusCode)
}
