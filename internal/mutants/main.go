// Command mutants tries whether the tests of a package notice when its judgements change.
//
// It changes one comparison, one logical operator or one threshold of the code at a time,
// runs the package's own tests over the changed file and lists the changes that no test
// notices. A change that means the same is marked on its line with a comment that begins
// with "mutants: same" and says why.
//
//	go run ./internal/mutants                    the packages that judge, all of them
//	go run ./internal/mutants -since main        only on lines that differ from a commit
//	go run ./internal/mutants ./pkg/facet        another package
//
// It prints the score and fails where a change survives.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"time"

	"github.com/cusptrace/cusptrace/internal/overlay"
)

// judging is the packages whose numbers and comparisons decide what a reader is told and
// whose own tests are quick.
var judging = []string{
	"./pkg/occlusion/internal/judge", "./pkg/occlusion/internal/mounting", "./pkg/occlusion/internal/record",
	"./pkg/occlusion/internal/restore",
}

func main() {
	since := flag.String("since", "", "commit: only lines that differ from it")
	each := flag.Duration("each", time.Minute, "time limit of one run of tests; a run that takes longer has noticed")
	flag.Parse()
	dirs := flag.Args()
	if len(dirs) == 0 {
		dirs = judging
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	survived, err := run(ctx, dirs, *since, *each, os.Stdout)
	if err != nil {
		fmt.Fprintln(os.Stderr, "mutants:", err)
		os.Exit(2)
	}
	if survived > 0 {
		os.Exit(1)
	}
}

// run tries every mutant of the packages and prints which survive.
func run(ctx context.Context, dirs []string, since string, each time.Duration, w io.Writer) (survived int, err error) {
	noticed := 0
	for _, dir := range dirs {
		files, err := filepath.Glob(filepath.Join(dir, "*.go"))
		if err != nil {
			return 0, err
		}
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") {
				continue
			}
			source, err := os.ReadFile(file)
			if err != nil {
				return 0, err
			}
			all, err := mutants(file, source)
			if err != nil {
				return 0, err
			}
			lines, err := changed(ctx, file, since)
			if err != nil {
				return 0, err
			}
			for _, m := range all {
				if lines != nil && !lines[m.Line] {
					continue
				}
				ok, err := notices(ctx, dir, file, m.apply(source), each)
				if err != nil {
					return 0, err
				}
				if ok {
					noticed++
					continue
				}
				survived++
				fmt.Fprintf(w, "%s:%d: %s instead of %s goes unnoticed\n", file, m.Line, m.New, m.Old)
			}
		}
	}
	fmt.Fprintf(w, "%d of %d changes noticed\n", noticed, noticed+survived)
	return survived, nil
}

// notices runs the tests of a package with one file replaced and says whether they fail. Code
// that does not build has noticed too.
func notices(ctx context.Context, dir, file string, source []byte, each time.Duration) (bool, error) {
	_, err := overlay.Test(ctx, dir, file, source, "-failfast", "-timeout", each.String())
	var exit *exec.ExitError
	switch {
	case ctx.Err() != nil:
		return false, ctx.Err()
	case err == nil:
		return false, nil
	case errors.As(err, &exit):
		return true, nil
	}
	return false, err
}
