package cli_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"github.com/cusptrace/cusptrace/internal/cli"
	"github.com/cusptrace/cusptrace/pkg/casefile"
)

// onTerminal runs the command with its results going to a terminal and returns
// what arrived there.
func onTerminal(t *testing.T, args ...string) string {
	t.Helper()
	near, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Skip("no terminals here: ", err)
	}
	defer near.Close()
	require.NoError(t, unix.IoctlSetPointerInt(int(near.Fd()), unix.TIOCSPTLCK, 0))
	n, err := unix.IoctlGetInt(int(near.Fd()), unix.TIOCGPTN)
	require.NoError(t, err)
	far, err := os.OpenFile(fmt.Sprintf("/dev/pts/%d", n), os.O_RDWR|unix.O_NOCTTY, 0)
	require.NoError(t, err)
	got := make(chan string)
	go func() {
		var all bytes.Buffer
		_, _ = all.ReadFrom(near) // ends with an error when the far end is closed
		got <- all.String()
	}()
	var errs bytes.Buffer
	code := cli.Run(context.Background(), args, strings.NewReader(""), far, &errs)
	require.Zero(t, code, errs.String())
	require.NoError(t, far.Close())
	select {
	case s := <-got:
		return s
	case <-time.After(20 * time.Second):
		t.Fatal("the terminal does not end")
		return ""
	}
}

// Colours are for terminals, and not where NO_COLOR is set (no-color.org).
func TestColoursOnTerminalsOnly(t *testing.T) {
	_, path := synthetic(t, func(c *casefile.Case) {
		for i := range c.Excursions {
			c.Excursions[i].MaxMM = 0.5
		}
	})
	args := []string{"examine", path, "--tables-only", "-o", t.TempDir()}
	const escape = "\x1b["
	t.Setenv("TERM", "xterm")
	t.Setenv("NO_COLOR", "")
	require.Contains(t, onTerminal(t, args...), escape, "an empty NO_COLOR asks for nothing")
	t.Setenv("NO_COLOR", "0")
	require.NotContains(t, onTerminal(t, args...), escape)
	t.Setenv("NO_COLOR", "")
	t.Setenv("TERM", "dumb")
	require.NotContains(t, onTerminal(t, args...), escape)
	t.Setenv("TERM", "xterm")
	code, stdout, stderr := run(t, args...)
	require.Zero(t, code, stderr)
	require.NotContains(t, stdout, escape, "not a terminal")
}
