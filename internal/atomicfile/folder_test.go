package atomicfile

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// set is a set of files whose content is their name and a text.
func set(text string, names ...string) (out []Content) {
	for _, n := range names {
		out = append(out, Content{n, func(w io.Writer) error { _, err := io.WriteString(w, n+text); return err }})
	}
	return out
}

func open(t testing.TB, dir string) *Folder {
	t.Helper()
	f, err := OpenFolder(dir, "list")
	require.NoError(t, err)
	return f
}

func TestFolderHoldsOneSetAtATime(t *testing.T) {
	ctx := context.Background()
	top := t.TempDir()
	dir := filepath.Join(top, "a", "b")
	f := open(t, dir)
	_, err := OpenFolder(dir, "list")
	require.ErrorIs(t, err, ErrBusy)
	require.NoError(t, f.Close())
	require.Empty(t, names(t, top), "nothing written, nothing left")

	f = open(t, dir)
	require.NoError(t, f.Write(ctx, set("1", "x", "y", "z")...))
	require.NoError(t, f.Close())
	require.NoError(t, f.Close(), "twice is once")
	require.Equal(t, []string{"list", "x", "y", "z"}, names(t, dir))
	if sums, err := exec.LookPath("sha256sum"); err == nil {
		c := exec.Command(sums, "-c", "--strict", "list")
		c.Dir = dir
		out, err := c.CombinedOutput()
		require.NoError(t, err, string(out))
	}

	// The next set takes its place; what others put there stays.
	require.NoError(t, os.WriteFile(filepath.Join(dir, "notes"), []byte("mine"), 0o644))
	f = open(t, dir)
	require.NoError(t, f.Write(ctx, set("2", "x", "w")...))
	require.Equal(t, []string{"y", "z"}, f.Removed())
	require.NoError(t, f.Close())
	require.Equal(t, []string{"list", "notes", "w", "x"}, names(t, dir))

	// A set with another list is none of its business.
	other, err := OpenFolder(dir, "list2")
	require.NoError(t, err)
	require.ErrorIs(t, other.check([]string{"x"}), ErrForeign)
	require.NoError(t, other.Write(ctx, set("3", "v")...))
	require.NoError(t, other.Close())
	require.Equal(t, []string{"list", "list2", "notes", "v", "w", "x"}, names(t, dir))
}

func TestFolderReplacesNothingForeign(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	f := open(t, dir)
	defer f.Close()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "x"), []byte("scan"), 0o644))
	err := f.Write(ctx, set("1", "w", "x")...)
	require.ErrorIs(t, err, ErrForeign)
	require.EqualError(t, err, "cannot write "+filepath.Join(dir, "x")+
		": not to be replaced: it exists, and was not written by an earlier run or was changed since; move it away, or choose another place")
	require.NoError(t, os.Remove(filepath.Join(dir, "x")))

	require.NoError(t, f.Write(ctx, set("1", "w", "x")...))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "x"), []byte("x1, and what I think of it"), 0o644))
	require.ErrorIs(t, f.check([]string{"w", "x"}), ErrForeign, "changed by somebody")
	require.NoError(t, f.Close())
	_, err = OpenFolder(dir, "list", "w", "x")
	require.ErrorIs(t, err, ErrForeign)
	f = open(t, dir)
	defer f.Close()
	require.NoError(t, f.check([]string{"w"}))
	require.NoError(t, f.Write(ctx, set("2", "w")...))
	require.Equal(t, []string{".cusptrace-folder.lock", "list", "w", "x"}, names(t, dir), "what somebody changed is not removed")
	require.Empty(t, f.Removed())

	require.NoError(t, os.Remove(filepath.Join(dir, "list")))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "list"), []byte("my shopping\n"), 0o644))
	require.ErrorIs(t, f.check([]string{"q"}), ErrForeign)
	require.NoError(t, os.Remove(filepath.Join(dir, "list")))
	require.NoError(t, os.Mkdir(filepath.Join(dir, "list"), 0o755))
	require.ErrorIs(t, f.check([]string{"q"}), ErrForeign)
}

func TestFolderKeepsTheLastSetWhereWritingFails(t *testing.T) {
	dir := t.TempDir()
	f := open(t, dir)
	require.NoError(t, f.Write(context.Background(), set("1", "x", "y")...))
	before := names(t, dir)
	bad := errors.New("no more")
	require.ErrorIs(t, f.Write(context.Background(), append(set("2", "x"), Content{"y", func(io.Writer) error { return bad }})...), bad)
	over, cancel := context.WithCancel(context.Background())
	cancel()
	require.ErrorIs(t, f.Write(over, set("2", "x", "y")...), context.Canceled)
	require.Equal(t, before, names(t, dir))
	text, err := os.ReadFile(filepath.Join(dir, "x"))
	require.NoError(t, err)
	require.Equal(t, "x1", string(text))
	require.NoError(t, f.Close())
}

// Killed at any moment, a writer leaves a folder that the next one goes on with, and
// files that are whole.
func TestKilledWriters(t *testing.T) {
	if dir := os.Getenv("CUSPTRACE_WRITE_FOR_EVER"); dir != "" {
		for i := 0; ; i++ {
			f, err := OpenFolder(dir, "list")
			if err == nil {
				err = f.Write(context.Background(), set(string(bytes.Repeat([]byte(strconv.Itoa(i%10)), 1<<16)), "a", "b", "c")...)
			}
			if err != nil {
				t.Fatal(err)
			}
			f.Close()
		}
	}
	dir := t.TempDir()
	for i := range 40 {
		c := exec.Command(os.Args[0], "-test.run", "^TestKilledWriters$")
		c.Env = append(os.Environ(), "CUSPTRACE_WRITE_FOR_EVER="+dir)
		require.NoError(t, c.Start())
		time.Sleep(time.Duration(20+i) * time.Millisecond)
		require.NoError(t, c.Process.Kill(), "it must have gone on until it was killed")
		err := c.Wait()
		require.ErrorContains(t, err, "killed")
		for _, name := range []string{"a", "b", "c"} {
			text, err := os.ReadFile(filepath.Join(dir, name))
			if errors.Is(err, os.ErrNotExist) {
				continue
			}
			require.NoError(t, err)
			require.Len(t, text, 1+1<<16)
		}
	}
	f := open(t, dir)
	require.NoError(t, f.Write(context.Background(), set("end", "a", "b")...))
	require.NoError(t, f.Close())
	require.Equal(t, []string{"a", "b", "list"}, names(t, dir))
}
