// Package golden compares the output of tests with files, and finds files that
// no test asks for.
package golden

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"

	"github.com/cusptrace/cusptrace/internal/packed"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// Dir is a folder of golden files.
type Dir struct {
	path string
	mu   sync.Mutex
	used []string
}

// New is the folder at a path. It must be checked by [Dir.Run].
func New(path string) *Dir { return &Dir{path: path} }

// Check compares got with the file of that name, or rewrites it under -update.
func (d *Dir) Check(t testing.TB, name, got string) {
	t.Helper()
	path := d.use(name)
	if *update {
		require.NoError(t, os.MkdirAll(d.path, 0o777))
		require.NoError(t, os.WriteFile(path, []byte(got), 0o666))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "run with -update to make it")
	require.Equal(t, string(want), got, "if the new one is right, run with -update")
}

// use notes that a test asks for a file, and returns its path.
func (d *Dir) use(name string) string {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.used = append(d.used, name)
	return filepath.Join(d.path, name)
}

// CheckPacked compares got with the packed file of that name, or packs it anew under -update
// where it has changed.
func (d *Dir) CheckPacked(t testing.TB, name, got string) {
	t.Helper()
	path := d.use(name)
	have, err := os.ReadFile(path)
	if *update && (err != nil || string(packed.Unpack(have)) != got) {
		have = packed.Pack([]byte(got))
		err = os.WriteFile(path, have, 0o666)
	}
	require.NoError(t, err, "run with -update to make it")
	require.Equal(t, got, string(packed.Unpack(have)), "run with -update")
}

// Run runs the tests of a package and returns the exit code. Golden files that
// no test asked for are a failure, unless only some tests were chosen.
func (d *Dir) Run(m *testing.M) int {
	code := m.Run()
	for _, name := range []string{"test.run", "test.skip", "test.list", "test.fuzz"} {
		if flag.Lookup(name).Value.String() != "" {
			return code
		}
	}
	if code != 0 {
		return code
	}
	entries, err := os.ReadDir(d.path)
	if err != nil {
		fmt.Fprintln(os.Stderr, "golden:", err)
		return 1
	}
	for _, e := range entries {
		if !slices.Contains(d.used, e.Name()) {
			fmt.Fprintf(os.Stderr, "golden: no test uses %s\n", filepath.Join(d.path, e.Name()))
			code = 1
		}
	}
	return code
}
