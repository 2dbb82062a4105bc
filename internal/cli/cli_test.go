package cli_test

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/cli"
	"github.com/cusptrace/cusptrace/internal/golden"
	"github.com/cusptrace/cusptrace/internal/testcase"
	"github.com/cusptrace/cusptrace/pkg/casefile"
)

var files = golden.New("testdata/golden")

func TestMain(m *testing.M) { os.Exit(files.Run(m)) }

// run runs the command.
//
// Examinations take no samples unless args say how many: their probabilities have tests of
// their own, and this keeps the others short.
func run(t testing.TB, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	if len(args) > 1 && args[0] == "examine" && !slices.Contains(args, "--samples") {
		args = slices.Insert(slices.Clone(args), 1, "--samples", "0")
	}
	var out, errs bytes.Buffer
	code = cli.Run(context.Background(), args, strings.NewReader(""), &out, &errs)
	return code, out.String(), errs.String()
}

// synthetic writes the synthetic case into a new folder; edit, if not nil,
// changes the case file.
func synthetic(t testing.TB, edit func(*casefile.Case)) (dir, path string) {
	t.Helper()
	dir = t.TempDir()
	path, err := testcase.New(8).Write(dir, edit)
	require.NoError(t, err)
	return dir, path
}

// listing is the names in a folder and below.
func listing(t testing.TB, dir string) []string {
	t.Helper()
	var out []string
	require.NoError(t, filepath.WalkDir(dir, func(p string, _ os.DirEntry, err error) error {
		out = append(out, strings.TrimPrefix(p, dir))
		return err
	}))
	return out
}

func TestHelp(t *testing.T) {
	for name, args := range map[string][]string{
		"help.txt": {"help"}, "help-examine.txt": {"examine", "--help"}, "help-inspect.txt": {"inspect", "-h"},
		"help-schema.txt": {"help", "schema"}, "help-segment.txt": {"segment", "--help"},
		"help-typodont.txt": {"help", "typodont"}, "help-demo.txt": {"demo", "-h"}, "help-trial.txt": {"help", "trial"},
		"help-compare.txt": {"help", "compare"}, "help-serve.txt": {"help", "serve"},
	} {
		code, stdout, stderr := run(t, args...)
		require.Zero(t, code, stderr)
		require.Empty(t, stderr)
		files.Check(t, name, stdout)
		for line := range strings.Lines(stdout) {
			require.Less(t, len(line), 100, line)
		}
	}
	code, stdout, _ := run(t)
	require.Zero(t, code)
	require.Contains(t, stdout, "cusptrace [command]")
	code, stdout, _ = run(t, "--version")
	require.Zero(t, code)
	require.True(t, strings.HasPrefix(stdout, "cusptrace version "), stdout)
}

// Mistakes in the arguments end with code 2 and say where help is.
func TestUsageErrors(t *testing.T) {
	var all strings.Builder
	for _, line := range []string{
		"trial", "trial a.yaml b.yaml -o out", "trial case.yaml", "compare a -o out", "compare a b", "exmine", "exmaine",
		"wipe", "help wipe", "--nonsense", "-x", "examine", "examine case.yaml", "examine a.yaml b.yaml -o out",
		"examine upper.stl -o out", "examine case.yaml -o out --workers -1", "examine case.yaml -o out --workers two",
		"examine case.yaml -o out --nonsense", "examine case.yaml -o",
		"demo", "demo now -o out", "typodont", "typodont all -o out", "schema", "schema report", "schema case findings",
		"inspect", "inspect upper.stl", "inspect --units mile upper.stl",
	} {
		code, stdout, stderr := run(t, strings.Fields(line)...)
		require.Equal(t, 2, code, line)
		require.Empty(t, stdout, line)
		require.Contains(t, stderr, "--help", line)
		all.WriteString("$ cusptrace " + line + "\n" + stderr)
	}
	files.Check(t, "usage-errors.txt", all.String())
}
