package cli_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/cli"
	"github.com/cusptrace/cusptrace/internal/testcase"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report"
)

// realCase writes a case file for the real adult's scans, with every step of the
// movements or only every tenth. It skips the test where they are not there.
func realCase(t testing.TB, step float64) (path string) {
	t.Helper()
	dir, err := filepath.Abs(filepath.Join("..", "..", "..", "shared", "data", "adult-cbct"))
	require.NoError(t, err)
	if _, err := os.Stat(dir); err != nil {
		t.Skip("the real scans are not there: ", err)
	}
	c := casefile.Default()
	c.Name = "adult"
	c.Upper = casefile.Arch{Scan: filepath.Join(dir, "upper.stl"), Labels: filepath.Join(dir, "upper.labels.json")}
	c.Lower = casefile.Arch{Scan: filepath.Join(dir, "lower.stl"), Labels: filepath.Join(dir, "lower.labels.json")}
	c.Settle = casefile.Settle{How: casefile.SettleNone}
	for i := range c.Excursions {
		c.Excursions[i].StepMM = step
	}
	path = filepath.Join(t.TempDir(), "case.yaml")
	f, err := os.Create(path)
	require.NoError(t, err)
	require.NoError(t, casefile.Write(f, c))
	require.NoError(t, f.Close())
	return path
}

// content is the bytes of all results in a folder: the tables, and more files.
func content(t testing.TB, dir string, more ...string) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, name := range slices.Concat(report.Files[:], more) {
		b, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		out[name] = string(b)
	}
	return out
}

// The same case gives the same bytes on any number of processors.
func TestExamineOnAnyCores(t *testing.T) {
	if testing.Short() {
		t.Skip("the race detector sees the same work in occlusion and report")
	}
	_, small := synthetic(t, nil)
	_, settled := synthetic(t, func(c *casefile.Case) {
		c.Settle = casefile.Default().Settle
		for i := range c.Excursions {
			c.Excursions[i].MaxMM = 1
		}
	})
	cases := [][]string{{settled, "--tables-only"}, {small}, {realCase(t, 0.8), "--tables-only"}}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, args := range cases {
		names := report.Names(nil)
		if slices.Contains(args, "--tables-only") {
			names = nil
		}
		var first map[string]string
		var summary string
		for _, procs := range []int{1, 3} {
			runtime.GOMAXPROCS(procs)
			dir := t.TempDir()
			code, stdout, stderr := run(t, append([]string{"examine", "-o", dir, "--workers", strconv.Itoa(procs)}, args...)...)
			require.Zero(t, code, stderr)
			require.Empty(t, stderr, "no progress bar but on a terminal")
			if first == nil {
				for _, name := range listing(t, dir) { // named by what is found
					if name := filepath.Base(name); strings.HasPrefix(name, "finding-") {
						names = append(names, name)
					}
				}
				first, summary = content(t, dir, names...), stdout
			}
			require.True(t, maps.Equal(first, content(t, dir, names...)), "%v with %d", args, procs)
			require.Len(t, listing(t, dir), 1+len(first)+1, "nothing else is written but the list of the files")
			require.Equal(t, summary, stdout)
		}
	}
}

// Both schemas fit what the command reads and writes.
func TestSchemasFitRealOutput(t *testing.T) {
	_, path := synthetic(t, nil)
	dir := t.TempDir()
	code, _, stderr := run(t, "examine", path, "-o", dir, "--tables-only")
	require.Zero(t, code, stderr)
	code, schema, stderr := run(t, "schema", "findings")
	require.Zero(t, code, stderr)
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(schema))
	require.NoError(t, err)
	compiler := jsonschema.NewCompiler()
	require.NoError(t, compiler.AddResource("findings.json", doc))
	s, err := compiler.Compile("findings.json")
	require.NoError(t, err)
	var v any
	require.NoError(t, json.Unmarshal([]byte(content(t, dir)["findings.json"]), &v))
	require.NoError(t, s.Validate(v))
	v.(map[string]any)["surprise"] = 1
	require.Error(t, s.Validate(v))
}

// longCase writes a case that takes seconds: synthetic arches of 129,024
// triangles, pressed together, in 1203 positions.
func longCase(t testing.TB) (path string) {
	t.Helper()
	path, err := testcase.New(48).Write(t.TempDir(), func(c *casefile.Case) {
		c.Settle = casefile.Default().Settle
		for i := range c.Excursions {
			c.Excursions[i].MaxMM, c.Excursions[i].StepMM = 8, 0.02
		}
	})
	require.NoError(t, err)
	return path
}

// A cancelled command stops within 200 ms, with code 1, and leaves no file,
// whatever it is doing: reading, building indices, settling, moving.
func TestCancelledExamination(t *testing.T) {
	path := longCase(t)
	for _, after := range []time.Duration{0, 5 * time.Millisecond, 20 * time.Millisecond, 60 * time.Millisecond,
		150 * time.Millisecond, 400 * time.Millisecond, 1500 * time.Millisecond} {
		late := cancelled(t, path, after)
		// A machine that is busy with other things may be late itself; what cannot
		// be interrupted is late every time.
		for range 2 {
			if late >= 200*time.Millisecond {
				late = cancelled(t, path, after)
			}
		}
		require.Less(t, late, 200*time.Millisecond, "cancelled after %v", after)
	}
}

// cancelled cancels an examination after a while and returns how long it went
// on.
func cancelled(t testing.TB, path string, after time.Duration) (late time.Duration) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "out")
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	stopped := make(chan time.Time, 1)
	time.AfterFunc(after, func() { stopped <- time.Now(); cancel() })
	var out, errs bytes.Buffer
	code := cli.Run(ctx, []string{"examine", path, "-o", dir}, strings.NewReader(""), &out, &errs)
	late = time.Since(<-stopped)
	require.Equal(t, 1, code, errs.String())
	require.Empty(t, out.String())
	require.Contains(t, errs.String(), "nothing written")
	// What could not be interrupted may still be busy, but writes no more.
	time.Sleep(300 * time.Millisecond)
	require.NoDirExists(t, dir)
	return late
}

// The same through the program itself and the signal of Ctrl-C.
func TestInterruptedProgram(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program")
	}
	path := longCase(t)
	bin := filepath.Join(t.TempDir(), "cusptrace")
	if b, err := exec.Command("go", "build", "-o", bin, "../../cmd/cusptrace").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, b)
	}
	dir := filepath.Join(t.TempDir(), "out")
	var stderr bytes.Buffer
	cmd := exec.Command(bin, "examine", path, "-o", dir)
	cmd.Stderr = &stderr
	require.NoError(t, cmd.Start())
	time.Sleep(800 * time.Millisecond)
	require.NoError(t, cmd.Process.Signal(syscall.SIGINT))
	signalled := time.Now()
	err := cmd.Wait()
	// 200 ms are asked for; the rest is what a busy machine takes to deliver the
	// signal and to end the process.
	require.Less(t, time.Since(signalled), 600*time.Millisecond)
	var exit *exec.ExitError
	require.ErrorAs(t, err, &exit)
	require.Equal(t, 1, exit.ExitCode())
	require.Equal(t, "cusptrace: stopped, nothing written\n", stderr.String(), "and no progress bar in a pipe")
	require.NoDirExists(t, dir)
}

// What is in the output folder stays as it is when a command is stopped.
func TestCancellationKeepsOldResults(t *testing.T) {
	path := longCase(t)
	dir := t.TempDir()
	scan, err := os.ReadFile(filepath.Join(filepath.Dir(path), "upper.stl"))
	require.NoError(t, err)
	doc := &findings.Findings{Name: "old", Inputs: []findings.Input{{Role: findings.UpperScan,
		SHA256: fmt.Sprintf("%x", sha256.Sum256(scan))}}}
	require.NoError(t, report.WriteDir(context.Background(), dir, doc))
	before := content(t, dir)
	ctx, cancel := context.WithCancel(context.Background())
	time.AfterFunc(300*time.Millisecond, cancel)
	var out, errs bytes.Buffer
	require.Equal(t, 1, cli.Run(ctx, []string{"examine", path, "-o", dir}, strings.NewReader(""), &out, &errs))
	require.Equal(t, before, content(t, dir))
	require.Len(t, listing(t, dir), 1+len(report.Files)+1)
}
