//go:build unix

package inputfile

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// Pipes, on which nobody may ever write, and devices, which never end, are refused at once.
func TestOnlyFilesAreRead(t *testing.T) {
	dir := t.TempDir()
	pipe, file := filepath.Join(dir, "pipe"), filepath.Join(dir, "file")
	require.NoError(t, unix.Mkfifo(pipe, 0o600))
	require.NoError(t, os.WriteFile(file, []byte("content"), 0o600))
	require.NoError(t, os.Symlink(pipe, filepath.Join(dir, "link")))
	for path, what := range map[string]string{pipe: "not a pipe", filepath.Join(dir, "link"): "not a pipe",
		"/dev/zero": "not a device", dir: "not a folder", "-": "standard input is not read"} {
		_, _, err := Open(path)
		require.ErrorIs(t, err, ErrKind)
		require.ErrorContains(t, err, what)
		_, err = Read(path, 10)
		require.ErrorIs(t, err, ErrKind)
	}
	_, err := Read(filepath.Join(dir, "none"), 10)
	require.ErrorIs(t, err, os.ErrNotExist)
	require.NotContains(t, err.Error(), dir)
	require.NoError(t, os.Symlink("nowhere", filepath.Join(dir, "dangling")))
	require.ErrorIs(t, Check(filepath.Join(dir, "dangling")), ErrDangling)
	require.NotErrorIs(t, Check(filepath.Join(dir, "none")), ErrDangling)
	require.NoError(t, Check(file))
	data, err := Read(file, 10)
	require.NoError(t, err)
	require.Equal(t, "content", string(data))
	data, err = Read(file, 3)
	require.NoError(t, err)
	require.Equal(t, "cont", string(data), "one byte more tells that it is too long")
}
