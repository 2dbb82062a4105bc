package atomicfile

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
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

func TestErrorsNameTheTargetAndWhatToDo(t *testing.T) {
	dir := t.TempDir()
	link := filepath.Join(dir, "link")
	require.NoError(t, os.Symlink(filepath.Join(dir, "none", "x"), link))
	err := WriteFile(link, []byte("x"), 0o644)
	require.EqualError(t, err, "cannot write "+link+": it is a link that leads nowhere; remove the link, or choose another place")
	require.ErrorContains(t, WriteFile(filepath.Join(dir, "none", "x"), nil, 0o644),
		filepath.Join("none", "x")+": no such file or directory; make the folder first")
	require.ErrorContains(t, WriteFile(filepath.Join(dir, strings.Repeat("x", 300)), nil, 0o644), "choose a shorter name")
	require.ErrorContains(t, WriteFile(os.DevNull, nil, 0o644), "neither a file nor a folder")

	full := newError("out/a", &os.PathError{Op: "write", Path: "out/.cusptrace-1.tmp", Err: syscall.ENOSPC})
	require.EqualError(t, full, "cannot write out/a: no space left on device; free some space, or choose a place on another disk")
	require.ErrorIs(t, full, syscall.ENOSPC)

	// A link to a file keeps leading there.
	target := filepath.Join(dir, "target")
	require.NoError(t, os.WriteFile(target, []byte("old"), 0o644))
	require.NoError(t, os.Remove(link))
	require.NoError(t, os.Symlink(target, link))
	require.NoError(t, WriteFile(link, []byte("new"), 0o644))
	text, err := os.ReadFile(target)
	require.NoError(t, err)
	require.Equal(t, "new", string(text))
}

// What a killed process left is removed; what a living one writes is not.
func TestStaleFilesAreCleared(t *testing.T) {
	dir := t.TempDir()
	f, err := Create(filepath.Join(dir, "a"), 0o644)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, ".cusptrace-0.tmp"), []byte("half"), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(dir, ".other.tmp"), []byte("whole"), 0o644))
	require.NoError(t, WriteFile(filepath.Join(dir, "b"), nil, 0o644))
	require.NoFileExists(t, filepath.Join(dir, ".cusptrace-0.tmp"))
	require.FileExists(t, filepath.Join(dir, ".other.tmp"))
	require.NoError(t, f.Replace())
	require.FileExists(t, filepath.Join(dir, "a"))
}

func TestLocksExclude(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a")
	l, err := LockFile(path)
	require.NoError(t, err)
	_, err = LockFile(path)
	require.ErrorIs(t, err, ErrBusy)
	require.EqualError(t, err, "cannot write "+path+": another run writes there; wait until it has ended, or choose another place")
	other, err := LockFile(filepath.Join(dir, "b"))
	require.NoError(t, err, "another file is free")
	require.NoError(t, other.Close())
	require.NoError(t, l.Close())
	require.NoError(t, l.Close(), "twice is once")
	l, err = LockFile(path)
	require.NoError(t, err)
	require.NoError(t, l.Close())
	require.Empty(t, names(t, dir))
}
