// Package cli is the command: it reads flags, calls the packages and prints.
package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/cusptrace/cusptrace/internal/faults"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/cusptrace/cusptrace/pkg/settle"
	"github.com/spf13/cobra"
)

// Exit codes.
const (
	ok       = 0
	failure  = 1
	badInput = 2
)

// stopWait is how long a cancelled command may take to come to an end by
// itself; it must stop within 200 ms.
const stopWait = 60 * time.Millisecond

// Run runs the command with arguments and returns its exit code: 0, 1 for a
// failure, 2 for bad input. Results go to stdout, the rest to stderr. A
// cancelled context ends it within 200 ms. Where it was busy with something
// that cannot be interrupted, that goes on in vain for a moment, but writes
// nothing any more.
func Run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	if ctx.Err() != nil {
		fmt.Fprintln(stderr, "cusptrace: stopped, nothing written")
		return failure
	}
	ctx, stop := watchMemory(ctx, mostMemory)
	defer stop()
	var g gate
	root := newRoot(&g, stdout, stderr)
	root.SetArgs(append([]string{}, args...)) // not nil, which would mean those of the process
	root.SetIn(stdin)
	done := make(chan error, 1)
	go func() { done <- root.ExecuteContext(ctx) }()
	var err error
	select {
	case err = <-done:
	case <-ctx.Done():
		wait := time.After(stopWait)
		if g.runs() {
			wait = nil // another program ends by itself
		}
		select {
		case err = <-done:
		case <-wait:
			err = ctx.Err()
		}
	}
	wrote, closing := g.shut()
	if err == nil {
		err = closing
	}
	return ended(ctx, err, wrote, stderr)
}

// ended says why a command came to its end, and is its exit code.
func ended(ctx context.Context, err error, wrote bool, stderr io.Writer) int {
	var other *exec.ExitError
	switch {
	case err == nil:
		return ok
	case errors.As(err, &other):
		return max(failure, other.ExitCode()) // it has said why
	case errors.Is(err, context.Canceled) && errors.Is(context.Cause(ctx), errMemory):
		fmt.Fprintf(stderr, "cusptrace: %v\n", errMemory)
		return failure
	case errors.Is(err, context.Canceled) && wrote:
		fmt.Fprintln(stderr, "cusptrace: stopped; the files written before are complete")
		return failure
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(stderr, "cusptrace: stopped, nothing written")
		return failure
	}
	fmt.Fprintf(stderr, "cusptrace: %v\n", err)
	if isBadInput(err) {
		return badInput
	}
	return failure
}

// gate lets files be written until the command is over, so that it neither ends
// in the middle of writing nor writes after its end, and holds the folders and files
// that it is to write.
type gate struct {
	mu          sync.Mutex
	over, wrote bool
	running     bool // another program, which is waited for
	held        []io.Closer
}

// run begins another program, unless the command is over.
func (g *gate) run(start func() error) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.over {
		return context.Canceled
	}
	err := start()
	g.running = err == nil
	return err
}

// runs says whether another program was begun.
func (g *gate) runs() bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.running
}

// write calls f, which writes files.
func (g *gate) write(f func() error) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.over {
		return context.Canceled
	}
	err := f()
	g.wrote = g.wrote || err == nil
	return err
}

// hold keeps what open opens, unless it fails, until the command is over.
func (g *gate) hold(open func() (io.Closer, error)) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.over {
		return context.Canceled
	}
	c, err := open()
	if err != nil {
		return err
	}
	g.held = append(g.held, c)
	return nil
}

// shut waits for what is being written, lets nothing more be written, releases what is
// held, and says whether something was written.
func (g *gate) shut() (wrote bool, err error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.over = true
	for _, c := range slices.Backward(g.held) {
		err = errors.Join(err, c.Close())
	}
	g.held = nil
	return g.wrote, err
}

// errInput marks mistakes of the person who calls: in the arguments, or in
// where the results should go.
var errInput = errors.New("bad input")

type inputError struct{ error }

func (e inputError) Unwrap() []error { return []error{errInput, e.error} }

func isBadInput(err error) bool {
	var parse *meshfile.ParseError
	return errors.Is(err, errInput) || faults.In(err) || errors.As(err, &parse) ||
		errors.Is(err, inspect.ErrSize) || errors.Is(err, inspect.ErrShape) ||
		errors.Is(err, casts.ErrApart) || errors.Is(err, casts.ErrSwapped) || errors.Is(err, casts.ErrLandmarks) ||
		errors.Is(err, settle.ErrSettle)
}

func newRoot(g *gate, stdout, stderr io.Writer) *cobra.Command {
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
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetOut(stdout)
	root.SetErr(stderr)
	root.SuggestionsMinimumDistance = 2
	root.CompletionOptions.HiddenDefaultCmd = true
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		var number *strconv.NumError
		if errors.As(err, &number) {
			err = errors.New(strings.Replace(err.Error(), number.Error(), "must be a whole number", 1))
		}
		return usage(c, err)
	})
	root.AddCommand(newExamine(g), newInspect(), newSchema(), newTypodont(g), newDemo(g), newTrial(g), newCompare(g),
		newSegment(g), newArticulate(g), newServe(g), newLicences())
	for _, c := range root.Commands() {
		check := c.Args
		c.Args = func(c *cobra.Command, args []string) error {
			if err := check(c, args); err != nil {
				return usage(c, err)
			}
			return nil
		}
	}
	root.Args = known
	root.SetHelpCommand(&cobra.Command{
		Use: "help [command]", Short: "Explain a command",
		RunE: func(_ *cobra.Command, args []string) error {
			c, rest, err := root.Find(args)
			if err != nil || len(rest) > 0 {
				return known(root, args)
			}
			c.InitDefaultHelpFlag()
			c.InitDefaultVersionFlag()
			return c.Help()
		},
	})
	return root
}

// usage is a mistake in the arguments of a command.
func usage(c *cobra.Command, err error) error {
	return inputError{fmt.Errorf("%w; see %s --help", err, c.CommandPath())}
}

// known says that there is no command of a name.
func known(root *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	near := ""
	if s := root.SuggestionsFor(args[0]); len(s) > 0 {
		near = fmt.Sprintf(", did you mean %s?", s[0])
	}
	return usage(root, fmt.Errorf("unknown command %q%s", args[0], near))
}

func version() string {
	if b, ok := debug.ReadBuildInfo(); ok && b.Main.Version != "" {
		return b.Main.Version
	}
	return "(devel)"
}
