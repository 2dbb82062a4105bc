package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"time"

	"github.com/spf13/cobra"
)

// serveProgram is the program that does the work in a page: it alone speaks HTTP, so that this one
// stays small and without.
const serveProgram = "cusptrace-serve"

// serveEnds is how long it may take to remove its files once it is told to end.
const serveEnds = 10 * time.Second

func newServe(g *gate) *cobra.Command {
	return &cobra.Command{
		Use:   "serve",
		Short: "Do the same work in a page of the browser, on this machine",
		Long: `serve opens a page in the browser in which two scans are dropped, looked at and
examined. It runs cusptrace-serve, a program of its own that stands beside this one,
with all that follows; cusptrace serve --help shows its flags.`,
		Example:            "  cusptrace serve\n  cusptrace serve --no-browser",
		Args:               cobra.ArbitraryArgs,
		DisableFlagParsing: true,
		RunE: func(c *cobra.Command, args []string) error {
			own, err := os.Executable()
			if err != nil {
				return err
			}
			program, err := besideOf(own, exec.LookPath)
			if err != nil {
				return err
			}
			return serve(c.Context(), g, program, args, c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr())
		},
	}
}

// besideOf finds the program that serves: beside this one, or where the system looks for programs.
func besideOf(own string, look func(string) (string, error)) (string, error) {
	name := serveProgram
	if runtime.GOOS == "windows" {
		name += ".exe"
	}
	folders := []string{filepath.Dir(own)}
	if real, err := filepath.EvalSymlinks(own); err == nil {
		folders = append(folders, filepath.Dir(real))
	}
	for _, dir := range folders {
		if info, err := os.Stat(filepath.Join(dir, name)); err == nil && info.Mode().IsRegular() {
			return filepath.Join(dir, name), nil
		}
	}
	if path, err := look(name); err == nil {
		return path, nil
	}
	return "", fmt.Errorf("the page is made by %s, which is neither in %s nor in PATH: put it there (a release has both in one "+
		"archive), or build it with\n  go build -o %s ./cmd/cusptrace-serve", name, folders[0], filepath.Join(folders[0], name))
}

// serve runs the program until it ends. What is asked of this command to end, it is asked too.
func serve(ctx context.Context, g *gate, program string, args []string, in io.Reader, out, err io.Writer) error {
	c := exec.CommandContext(ctx, program, args...)
	c.Stdin, c.Stdout, c.Stderr = in, out, err
	c.WaitDelay = serveEnds
	c.Cancel = func() error {
		if e := c.Process.Signal(os.Interrupt); e == nil || errors.Is(e, os.ErrProcessDone) {
			return e
		}
		return c.Process.Kill() // a system without signals
	}
	if err := g.run(c.Start); err != nil {
		return fmt.Errorf("%s: %w", program, err)
	}
	if err := c.Wait(); ctx.Err() == nil || c.ProcessState == nil || !c.ProcessState.Success() {
		return err
	}
	return nil // it was asked to end and did
}
