package cli_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/report"
)

// everything is the bytes of all files below a folder.
func everything(t testing.TB, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, name := range listing(t, dir) {
		if b, err := os.ReadFile(filepath.Join(dir, name)); err == nil {
			out[name] = string(b)
		}
	}
	return out
}

// No command writes over a file that it reads, by whatever name, nor over one that it did
// not write, and says so before any work.
func TestNothingIsWrittenOver(t *testing.T) {
	dir, path := synthetic(t, nil)
	at := func(name string) string { return filepath.Join(dir, name) }
	upper, lower := at("upper.stl"), at("lower.stl")
	require.NoError(t, os.Symlink("upper.stl", at("soft")))
	require.NoError(t, os.Link(upper, at("hard")))
	require.NoError(t, os.Symlink("nowhere", at("dangling.json")))
	require.NoError(t, os.WriteFile(at("dangling.yaml"), []byte("upper: {scan: dangling.json}\nlower: {scan: lower.stl}\n"), 0o666))
	for _, name := range []string{"mine.json", "a-lower.ply", "b-upper.labels.json", "c.yaml"} {
		require.NoError(t, os.WriteFile(at(name), []byte("mine"), 0o666))
	}
	// A scan of the case that has the name of a result.
	b, err := os.ReadFile(upper)
	require.NoError(t, err)
	require.NoError(t, os.Mkdir(at("results"), 0o777))
	require.NoError(t, os.WriteFile(at("results/clearance-upper.ply"), b, 0o666))
	require.NoError(t, os.WriteFile(at("named.yaml"), []byte("upper: {scan: results/clearance-upper.ply}\nlower: {scan: lower.stl}\n"), 0o666))
	before := everything(t, dir)
	segment := func(out string) []string {
		return []string{"segment", upper, "--jaw", "upper", "--units", "mm", "-o", out}
	}
	articulate := func(out string) []string { return []string{"articulate", upper, lower, "--units", "mm", "-o", out} }
	for _, c := range []struct {
		args []string
		want string
	}{
		{segment(upper), upper + " is read and would be written over; choose another place with -o"},
		{append(segment(upper), "--replace"), "would be written over"},
		{append(segment(at("soft")), "--replace"), at("soft") + " is the file that is read as " + upper},
		{append(segment(at("hard")), "--replace"), at("hard") + " is the file that is read as " + upper},
		{segment(at("mine.json")), at("mine.json") + " exists; choose another with -o, or say with --replace that it may go"},
		{segment(at("results")), "is a folder"},
		{segment(at("dangling.json")), "exists"},
		{append(segment(at("dangling.json")), "--replace"), "it is a link that leads nowhere; remove the link"},
		{[]string{"examine", path, "-o", at("dangling.json")}, "it is a link that leads nowhere; remove the link"},
		{[]string{"examine", at("dangling.yaml"), "-o", at("results")}, `"dangling.json": it is a link that leads nowhere`},
		{segment("/dev/full"), "exists"},
		{append(segment("/dev/full"), "--replace"), "neither a file nor a folder"},
		{segment(at("none/out.json")), "make the folder first"},
		{articulate(upper), "would be written over"},
		{articulate(at("soft")), "would be written over"},
		{articulate(at("a.yaml")), "cannot write " + at("a-lower.ply") + ": not to be replaced"},
		{articulate(at("b.yaml")), "cannot write " + at("b-upper.labels.json")},
		{articulate(at("c.yaml")), "cannot write " + at("c.yaml")},
		{[]string{"examine", at("named.yaml"), "-o", at("results")}, "clearance-upper.ply"},
		{[]string{"typodont", "-o", dir}, "cannot write " + upper + ": not to be replaced: it exists, and was not written by an earlier run"},
	} {
		code, stdout, stderr := run(t, c.args...)
		require.Equal(t, 2, code, "%v: %s", c.args, stderr)
		require.Empty(t, stdout)
		require.Contains(t, stderr, c.want)
		require.NotContains(t, stderr, ".tmp")
		require.Equal(t, before, everything(t, dir), "%v", c.args)
	}

	// A run that fails late deletes nothing either.
	code, _, _ := run(t, "articulate", upper, upper, "--units", "mm", "-o", at("d.yaml"))
	require.NotZero(t, code)
	require.Equal(t, before, everything(t, dir))
	require.FileExists(t, path)
}

// The results of a case take the place of its earlier ones as a whole, never of those of
// another case.
func TestResultsOfOneCaseInAFolder(t *testing.T) {
	if testing.Short() {
		t.Skip("examines four times")
	}
	short := func(c *casefile.Case) {
		for i := range c.Excursions {
			c.Excursions[i].MaxMM = 0.5
		}
	}
	_, path := synthetic(t, short)
	out := filepath.Join(t.TempDir(), "out")
	code, _, stderr := run(t, "examine", path, "-o", out, "--as-set")
	require.Zero(t, code, stderr)
	require.FileExists(t, filepath.Join(out, "report.html"))

	held, err := report.OpenFolder(out)
	require.NoError(t, err)
	before := everything(t, out)
	code, _, stderr = run(t, "examine", path, "-o", out, "--as-set")
	require.Equal(t, 2, code)
	require.Equal(t, fmt.Sprintf("cusptrace: cannot write into the folder %s: another run writes there; wait until it "+
		"has ended, or choose another place with -o\n", out), stderr)
	require.Equal(t, before, everything(t, out))
	require.NoError(t, held.Close())

	otherDir, other := synthetic(t, func(c *casefile.Case) { short(c); c.Name = "Somebody else" })
	for _, jaw := range []string{"upper.stl", "lower.stl"} { // another person's scans
		damage(t, filepath.Join(otherDir, jaw), func(b []byte) []byte { b[0]++; return b })
	}
	before = everything(t, out)
	code, _, stderr = run(t, "examine", other, "-o", out, "--tables-only", "--as-set")
	require.Equal(t, 2, code)
	require.Contains(t, stderr, "it holds the results of another case")
	require.Contains(t, stderr, "choose another folder, or remove those results first")
	require.Equal(t, before, everything(t, out))

	code, _, stderr = run(t, "examine", path, "-o", out, "--tables-only", "--as-set")
	require.Zero(t, code, stderr)
	require.Contains(t, stderr, "removed from "+out+", of the examination before: ")
	require.Contains(t, stderr, "report.html")
	require.Len(t, listing(t, out), 1+len(report.Files)+1)

	require.NoError(t, os.WriteFile(filepath.Join(out, "contacts.csv"), []byte("with my remarks"), 0o666))
	code, _, stderr = run(t, "examine", path, "-o", out, "--tables-only", "--as-set")
	require.Equal(t, 2, code)
	require.Contains(t, stderr, "contacts.csv: not to be replaced: it exists, and was not written by an earlier run "+
		"or was changed since; move it away")
}
