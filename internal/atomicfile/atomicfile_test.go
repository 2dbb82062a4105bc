package atomicfile

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

func names(t *testing.T, dir string) (out []string) {
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		out = append(out, e.Name())
	}
	return out
}

func TestFilesAppearWholeOrNotAtAll(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a")
	require.NoError(t, WriteFile(path, []byte("old"), 0o644))
	f, err := Create(path, 0o644)
	require.NoError(t, err)
	_, err = f.WriteString("new")
	require.NoError(t, err)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "old", string(text), "until it is replaced")
	require.NoError(t, f.Replace())
	require.NoError(t, f.Cleanup())
	text, err = os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "new", string(text))

	f, err = Create(path, 0o644)
	require.NoError(t, err)
	require.NoError(t, f.Cleanup())
	require.NoError(t, f.Cleanup(), "twice is once")
	require.Equal(t, []string{"a"}, names(t, dir), "nothing is left behind")
	_, err = Create(filepath.Join(dir, "none", "a"), 0o644)
	require.ErrorIs(t, err, os.ErrNotExist)
	require.Error(t, WriteFile(dir, []byte("x"), 0o644), "a folder is in the place")
	require.Equal(t, []string{"a"}, names(t, dir))
}
