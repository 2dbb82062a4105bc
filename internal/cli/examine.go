package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/report"
	"github.com/schollz/progressbar/v3"
	"github.com/spf13/cobra"
	"golang.org/x/term"
)

// errOutput says that the results cannot be written where they should go.
var errOutput = errors.New("cannot write the results")

func newExamine() *cobra.Command {
	var dir string
	var workers int
	c := &cobra.Command{
		Use:   "examine CASE -o DIR",
		Short: "Examine the casts of a case file",
		Long: `examine reads a case file, mounts and closes the casts, takes them through the
movements of the case, and writes into DIR

  findings.json   everything, for programs (schema: cusptrace schema findings)
  contacts.csv    one contact a row
  frames.csv      one position of a movement a row

It prints a summary. docs/case-file.md describes the case file.`,
		Example: "  cusptrace examine case.yaml -o out",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if dir == "" {
				return usageError{errors.New("where should the results go? give a folder with -o DIR")}
			}
			return examine(c.Context(), args[0], dir, workers, c.OutOrStdout(), c.ErrOrStderr())
		},
	}
	c.Flags().StringVarP(&dir, "output", "o", "", "folder for the results; made if need be (required)")
	c.Flags().IntVar(&workers, "workers", 0, "processors to use, 0 for all; never changes the results")
	return c
}

func examine(ctx context.Context, path, dir string, workers int, stdout, stderr io.Writer) error {
	c, warnings, err := casefile.Read(path)
	if err != nil {
		return err
	}
	if err := writable(dir); err != nil {
		return err
	}
	upper, lower, err := occlusion.Load(ctx, c)
	if err != nil {
		return err
	}
	casts, err := occlusion.Assemble(ctx, c, upper, lower)
	if err != nil {
		return err
	}
	show, finish := bar(stderr)
	f, err := occlusion.Examine(ctx, c, casts, occlusion.Options{Workers: workers, Progress: show})
	finish()
	if err != nil {
		return err
	}
	for _, w := range warnings {
		f.Warnings = append(f.Warnings, w.String())
	}
	if err := report.WriteDir(ctx, dir, f); err != nil {
		if errors.Is(err, context.Canceled) {
			return err
		}
		return fmt.Errorf("%w: %w", errOutput, err)
	}
	return report.WriteSummary(stdout, f)
}

// writable says early whether files can be put into a folder.
func writable(dir string) error {
	made := false
	if _, err := os.Stat(dir); errors.Is(err, os.ErrNotExist) {
		made = true
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return fmt.Errorf("%w: output folder: %w; choose another with -o", errOutput, err)
	}
	f, err := os.CreateTemp(dir, ".cusptrace-*")
	if err != nil {
		return fmt.Errorf("%w: output folder: %w; choose another with -o", errOutput, err)
	}
	err = errors.Join(f.Close(), os.Remove(f.Name()))
	if made {
		// It is made again when there is something to write.
		err = errors.Join(err, os.Remove(dir))
	}
	return err
}

// bar shows progress on a terminal, nothing elsewhere.
func bar(w io.Writer) (show func(done, total int), finish func()) {
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return nil, func() {}
	}
	b := progressbar.NewOptions(1, progressbar.OptionSetWriter(w), progressbar.OptionSetDescription("positions"),
		progressbar.OptionShowCount(), progressbar.OptionSetWidth(30), progressbar.OptionThrottle(50*time.Millisecond),
		progressbar.OptionClearOnFinish())
	return func(done, total int) {
		b.ChangeMax(total)
		_ = b.Set(done) // a terminal that cannot be written to is no reason to stop
	}, func() { _ = b.Finish() }
}
