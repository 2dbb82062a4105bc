// Package examples holds small programs that show one thing each.
package examples

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// Every example is short, builds, runs, and prints what it promises.
func TestExamplesRun(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the programs")
	}
	says := map[string]string{
		"01_check_scan":        "borders                2,",
		"02_distance_map":      "least distance 0.30",
		"03_lateral_excursion": "3.0 mm: closes to -0.352°",
		"05_stream_movement":   "1.0 mm: moved by {-0.15 -0.42 -0.27}, opened by -0.40°, 7 contacts, touch at {-15.9 -75.9 -32.5}",
		"04_examine_case":      "incisal edge of 41 in the lingual fossa of 11 (stable: true)",
	}
	files, err := filepath.Glob("*/main.go")
	require.NoError(t, err)
	require.Len(t, files, len(says))
	for _, file := range files {
		dir := filepath.Dir(file)
		t.Run(dir, func(t *testing.T) {
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			require.Less(t, bytes.Count(text, []byte("\n")), 60)
			cmd := exec.Command("go", "run", "./examples/"+dir)
			cmd.Dir = ".."
			cmd.Env = append(os.Environ(), "TMPDIR="+t.TempDir())
			out, err := cmd.CombinedOutput()
			require.NoError(t, err, "%s", out)
			require.Contains(t, says, dir)
			require.Contains(t, string(out), says[dir])
		})
	}
}
