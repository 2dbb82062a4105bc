package cli_test

import (
	"bytes"
	"context"
	"flag"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/cli"
	"github.com/cusptrace/cusptrace/internal/mutate"
	"github.com/cusptrace/cusptrace/internal/testcase"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
)

var (
	mutations    = flag.Int("mutations", 200, "damaged cases to run")
	mutationSeed = flag.Uint64("mutation-seed", 1, "where their random numbers begin")
)

// hostileCase writes a small case in files of every kind.
func hostileCase(t testing.TB) (dir string, files []string) {
	t.Helper()
	dir = t.TempDir()
	_, err := testcase.New(4).Write(dir, func(c *casefile.Case) {
		c.Excursions, c.FoilsUm = c.Excursions[2:], []float64{40}
		c.Excursions[0].MaxMM, c.Excursions[0].StepMM = 0.2, 0.2
		c.Lower.Scan = "lower.ply"
		c.Name = "small"
	})
	require.NoError(t, err)
	m, err := meshfile.ReadFile(filepath.Join(dir, "lower.stl"), meshfile.ReadOptions{Unit: mesh.Millimetre})
	require.NoError(t, err)
	welded, _ := mesh.Weld(m, 0)
	require.NoError(t, meshfile.WriteFile(filepath.Join(dir, "lower.ply"), welded, nil))
	require.NoError(t, meshfile.WriteFile(filepath.Join(dir, "lower.obj"), welded, nil))
	return dir, []string{"case.yaml", "case.yaml", "upper.stl", "upper.stl", "lower.ply", "lower.ply", "lower.obj",
		"upper.labels.json", "lower.labels.json"}
}

// Whatever is damaged, the command ends in time with 0 or 2, says something on the one
// stream or the other, leaves the inputs as they are, and whole results or none. More of them
// run with -args -mutations 5000.
func TestDamagedCases(t *testing.T) {
	dir, files := hostileCase(t)
	whole := everything(t, dir)
	codes := map[int]int{}
	for run := range *mutations {
		r := rand.New(rand.NewPCG(*mutationSeed, uint64(run)))
		damaged := map[string]bool{}
		for range 1 + r.IntN(2) {
			name := files[r.IntN(len(files))]
			damaged[name] = true
			require.NoError(t, os.WriteFile(filepath.Join(dir, name), mutate.File(r, name, []byte(whole["/"+name])), 0o666))
		}
		before := everything(t, dir)
		out := filepath.Join(dir, "out")
		args := []string{"examine", filepath.Join(dir, "case.yaml"), "-o", out, "--tables-only", "--as-set"}
		switch r.IntN(40) {
		case 0, 1, 2, 3, 4, 5:
			args = []string{"inspect", "--units", "mm", filepath.Join(dir, "upper.stl"), filepath.Join(dir, "lower.ply"),
				filepath.Join(dir, "lower.obj")}
		case 6, 7, 8, 9:
			args = []string{"segment", filepath.Join(dir, "lower.ply"), "--jaw", "lower", "--units", "mm", "-o", filepath.Join(dir, "out.json")}
		case 10: // with the page
			args = args[:4]
		}
		ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
		var stdout, stderr bytes.Buffer
		code := cli.Run(ctx, args, nil, &stdout, &stderr)
		cancel()
		codes[code]++
		about := []any{"run %d of seed %d, %v: %v\n%s", run, *mutationSeed, damaged, args, stderr.String()}
		require.Contains(t, []int{0, 2}, code, about...)
		require.Equal(t, code == 0, stdout.Len() > 0, about...)
		require.Equal(t, code != 0, strings.HasPrefix(stderr.String(), "cusptrace: "), about...)
		require.NotContains(t, stderr.String(), ".tmp", about...)
		require.NotContains(t, stderr.String(), "goroutine", about...)
		after := everything(t, dir)
		for name := range after {
			if strings.HasPrefix(name, "/out") {
				require.Zero(t, code, about...)
				delete(after, name)
			}
		}
		require.Equal(t, before, after, about...)
		if args[0] == "examine" && code == 0 {
			require.FileExists(t, filepath.Join(out, "findings.json"))
		}
		require.NoError(t, os.RemoveAll(out))
		require.NoError(t, os.RemoveAll(out+".json"))
		for name := range damaged {
			require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(whole["/"+name]), 0o666))
		}
	}
	t.Logf("exit codes: %v", codes)
	if *mutations >= 200 {
		require.Greater(t, codes[0], *mutations/20, "some damage is borne")
		require.Greater(t, codes[2], *mutations/3, "most is refused")
	}
}
