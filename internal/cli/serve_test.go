package cli

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// fakeServe is a program in the place of the one that serves: it says what it was given, and on an
// interrupt that it ends.
const fakeServe = `#!/bin/sh
echo "args: $*"
read line
echo "stdin: $line" >&2
case "$1" in
--fail) exit 3;;
--wait) trap 'sleep 0.3; echo ended; exit 0' INT; while :; do sleep 0.05; done;;
esac
`

func fake(t *testing.T) string {
	t.Helper()
	if runtime.GOOS == "windows" {
		t.Skip("the program is a script of a shell")
	}
	path := filepath.Join(t.TempDir(), serveProgram)
	require.NoError(t, os.WriteFile(path, []byte(fakeServe), 0o700))
	return path
}

// The program gets the flags and the standard streams, and its exit code is that of the command.
func TestServePassesOn(t *testing.T) {
	var g gate
	var out, errs bytes.Buffer
	require.NoError(t, serve(context.Background(), &g, fake(t), []string{"--no-browser", "x y"}, strings.NewReader("in\n"), &out, &errs))
	require.Equal(t, "args: --no-browser x y\n", out.String())
	require.Equal(t, "stdin: in\n", errs.String())
	require.True(t, g.runs())
	err := serve(context.Background(), &g, fake(t), []string{"--fail"}, strings.NewReader("in\n"), &out, &errs)
	errs.Reset()
	require.Equal(t, 3, ended(context.Background(), err, false, &errs))
	require.Empty(t, errs.String(), "the program has said why")
}

// Whoever ends the command ends the program, which comes to its end in peace.
func TestServeIsToldToEnd(t *testing.T) {
	var g gate
	var out, errs bytes.Buffer
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan error, 1)
	program := fake(t)
	go func() { done <- serve(ctx, &g, program, []string{"--wait"}, strings.NewReader("in\n"), &out, &errs) }()
	require.Eventually(t, g.runs, 10*time.Second, time.Millisecond)
	time.Sleep(200 * time.Millisecond) // until the trap stands
	stop()
	require.NoError(t, <-done)
	require.Contains(t, out.String(), "ended")
}

// Beside the command first, then in PATH; otherwise it is said what would do.
func TestServeIsFound(t *testing.T) {
	program := fake(t)
	none := func(string) (string, error) { return "", exec.ErrNotFound }
	found, err := besideOf(filepath.Join(filepath.Dir(program), "cusptrace"), none)
	require.NoError(t, err)
	require.Equal(t, program, found)
	link := filepath.Join(t.TempDir(), "cusptrace")
	require.NoError(t, os.WriteFile(filepath.Join(filepath.Dir(program), "cusptrace"), nil, 0o700))
	require.NoError(t, os.Symlink(filepath.Join(filepath.Dir(program), "cusptrace"), link))
	found, err = besideOf(link, none)
	require.NoError(t, err)
	require.Equal(t, serveProgram, filepath.Base(found))
	empty := filepath.Join(t.TempDir(), "cusptrace")
	found, err = besideOf(empty, func(string) (string, error) { return "/elsewhere/cusptrace-serve", nil })
	require.NoError(t, err)
	require.Equal(t, "/elsewhere/cusptrace-serve", found)
	_, err = besideOf(empty, none)
	require.ErrorContains(t, err, "go build -o "+filepath.Join(filepath.Dir(empty), serveProgram)+" ./cmd/cusptrace-serve")
	require.False(t, errors.Is(err, errInput), "exit code 1")

	t.Setenv("PATH", "")
	var stderr bytes.Buffer
	require.Equal(t, failure, Run(context.Background(), []string{"serve"}, nil, io.Discard, &stderr))
	require.Contains(t, stderr.String(), serveProgram)
}
