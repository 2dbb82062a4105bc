// Command sensitivity shows how much the constants of a package matter: it runs a test that
// prints a score with every constant as it is, a fifth smaller and a fifth larger.
//
//	go run ./internal/sensitivity -run RealScans ./pkg/segment
//	go run ./internal/sensitivity -run RealScans -file cut.go ./pkg/segment
//
// The score is the rest of the line on which the test prints "score:". Where the changed code
// does not build, or the test fails, the table says so. It is printed as it is made, in the form
// of a Markdown table.
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

	"github.com/cusptrace/cusptrace/internal/overlay"
)

func main() {
	test := flag.String("run", "", "the test that prints the score")
	only := flag.String("file", "*.go", "pattern of the files whose constants are tried")
	flag.Parse()
	if *test == "" || flag.NArg() != 1 {
		flag.Usage()
		os.Exit(2)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, flag.Arg(0), *only, *test, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "sensitivity:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, dir, only, test string, w io.Writer) error {
	files, err := filepath.Glob(filepath.Join(dir, only))
	if err != nil {
		return err
	}
	head := false
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		source, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		all, err := constants(file, source)
		if err != nil {
			return err
		}
		if !head {
			head = true
			s, err := score(ctx, dir, file, source, test)
			if err != nil {
				return err
			}
			fmt.Fprintf(w, "As it is: %s\n\n| constant | value | a fifth less | a fifth more |\n|---|---|---|---|\n", s)
		}
		for _, c := range all {
			var row [2]string
			for i, factor := range []float64{0.8, 1.2} {
				changed := c.times(source, factor)
				if changed == nil {
					row[i] = "the same number"
					continue
				}
				if row[i], err = score(ctx, dir, file, changed, test); err != nil {
					return err
				}
			}
			fmt.Fprintf(w, "| %s: %s | %s | %s | %s |\n", filepath.Base(file), c.name, c.text, row[0], row[1])
		}
	}
	return nil
}

// score runs the test over a changed file and finds what it prints.
func score(ctx context.Context, dir, file string, source []byte, test string) (string, error) {
	out, err := overlay.Test(ctx, dir, file, source, "-v", "-run", test)
	if ctx.Err() != nil {
		return "", ctx.Err()
	}
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		return "", err
	}
	for line := range strings.Lines(string(out)) {
		if _, s, ok := strings.Cut(line, "score: "); ok {
			return strings.TrimSpace(s), nil
		}
	}
	return "no score", nil
}
