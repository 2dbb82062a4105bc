// Package cli is the command: it reads flags, calls the packages and prints.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"runtime/debug"
	"time"

	"github.com/cusptrace/cusptrace/internal/faults"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/spf13/cobra"
)

// Exit codes.
const (
	ok       = 0
	failure  = 1
	badInput = 2
)

// stopWait is how long a cancelled command may take to put away what it was
// writing; it must stop within 200 ms.
const stopWait = 120 * time.Millisecond

// Run runs the command with arguments and returns its exit code: 0, 1 for a
// failure, 2 for bad input. Results go to stdout, the rest to stderr. A
// cancelled context ends it within 200 ms.
func Run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	root := newRoot(stdout, stderr)
	root.SetArgs(args)
	root.SetIn(stdin)
	done := make(chan error, 1)
	go func() { done <- root.ExecuteContext(ctx) }()
	var err error
	select {
	case err = <-done:
	case <-ctx.Done():
		select {
		case err = <-done:
		case <-time.After(stopWait):
			err = ctx.Err()
		}
	}
	if err == nil {
		return ok
	}
	if errors.Is(err, context.Canceled) {
		fmt.Fprintln(stderr, "cusptrace: stopped, nothing written")
		return failure
	}
	fmt.Fprintf(stderr, "cusptrace: %v\n", err)
	if isBadInput(err) {
		return badInput
	}
	return failure
}

// usageError is a mistake in the arguments.
type usageError struct{ error }

func (e usageError) Unwrap() error { return e.error }

func isBadInput(err error) bool {
	var usage usageError
	var parse *mesh.ParseError
	var size *mesh.SizeError
	return faults.In(err) || errors.As(err, &usage) || errors.As(err, &parse) || errors.As(err, &size) ||
		errors.Is(err, occlusion.ErrApart) || errors.Is(err, occlusion.ErrSwapped) || errors.Is(err, occlusion.ErrLandmarks) ||
		errors.Is(err, fs.ErrPermission) || errors.Is(err, errOutput)
}

func newRoot(stdout, stderr io.Writer) *cobra.Command {
	root := &cobra.Command{
		Use:   "cusptrace",
		Short: "Examine the occlusion of scanned dental casts",
		Long: `cusptrace examines the occlusion of scanned dental casts: it mounts upper and
lower scans in an articulator, closes them, takes them through right, left and
protrusive movements, and reports exactly what meets what and how far the rest
clears. Nothing leaves this machine.`,
		SilenceErrors: true,
		SilenceUsage:  true,
		Version:       version(),
		Args:          cobra.NoArgs,
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetOut(stdout)
	root.SetErr(stderr)
	root.CompletionOptions.HiddenDefaultCmd = true
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return usageError{fmt.Errorf("%w; see %s --help", err, c.CommandPath())}
	})
	root.AddCommand(newExamine(), newInspect(), newSchema())
	for _, c := range root.Commands() {
		args := c.Args
		c.Args = func(c *cobra.Command, a []string) error {
			if args == nil {
				return nil
			}
			if err := args(c, a); err != nil {
				return usageError{fmt.Errorf("%w; see %s --help", err, c.CommandPath())}
			}
			return nil
		}
	}
	return root
}

func version() string {
	if b, ok := debug.ReadBuildInfo(); ok && b.Main.Version != "" {
		return b.Main.Version
	}
	return "(devel)"
}
