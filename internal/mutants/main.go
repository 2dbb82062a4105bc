// Command mutants tries whether the tests of a package notice when its judgements change.
//
// It changes one comparison, one logical operator or one threshold of the code at a time,
// runs the package's own short tests over the changed file and lists the changes that no test
// notices. A change that means the same is marked on its line with a comment that begins
// with "mutants: same" and says why; "mutants: same >=: why" is of that operator alone.
//
//	go run ./internal/mutants                    the packages that judge, all of them
//	go run ./internal/mutants -since main        only on lines that differ from a commit
//	go run ./internal/mutants -within 60s        as many as that time allows
//	go run ./internal/mutants -file size.go      only in files of that name
//	go run ./internal/mutants ./pkg/facet        another package
//
// It prints the score and fails where a change survives.
package main

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"go/token"
	"io"
	"os"
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
	"./pkg/occlusion/internal/restore", "./pkg/occlusion/internal/stops", "./pkg/occlusion/internal/wear",
	"./pkg/occlusion/internal/staircase",
}

// options are the command line.
type options struct {
	since, file  string
	each, within time.Duration
}

func main() {
	var o options
	flag.StringVar(&o.since, "since", "", "commit: only lines that differ from it")
	flag.StringVar(&o.file, "file", "", "name of the only file to change")
	flag.DurationVar(&o.each, "each", time.Minute, "time limit of one run of tests; a run that takes longer has noticed")
	flag.DurationVar(&o.within, "within", 0, "time after which no further change is tried, 0 for none")
	flag.Parse()
	dirs := flag.Args()
	if len(dirs) == 0 {
		dirs = judging
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	survived, err := run(ctx, dirs, o, os.Stdout)
	if err != nil {
		fmt.Fprintln(os.Stderr, "mutants:", err)
		os.Exit(2)
	}
	if survived > 0 {
		os.Exit(1)
	}
}

// score is what has come of the changes.
type score struct{ noticed, survived, untried int }

// run tries every mutant of the packages and prints which survive.
func run(ctx context.Context, dirs []string, o options, w io.Writer) (survived int, err error) {
	var all score
	end := time.Now().Add(o.within)
	late := func() bool { return o.within > 0 && time.Now().After(end) }
	for _, dir := range dirs {
		var s score
		if err := s.try(ctx, dir, o, late, w); err != nil {
			return 0, err
		}
		if len(dirs) > 1 && s != (score{}) {
			fmt.Fprintf(w, "%s: %d of %d changes noticed\n", dir, s.noticed, s.noticed+s.survived)
		}
		all.noticed, all.survived, all.untried = all.noticed+s.noticed, all.survived+s.survived, all.untried+s.untried
	}
	fmt.Fprintf(w, "%d of %d changes noticed\n", all.noticed, all.noticed+all.survived)
	if all.untried > 0 {
		fmt.Fprintf(w, "%d more were not tried for want of time\n", all.untried)
	}
	return all.survived, nil
}

// source is a file of a package and its mutants.
type source struct {
	file    string
	text    []byte
	mutants []*mutant
}

// collect reads a package and lists the mutants that are asked for.
func collect(ctx context.Context, dir string, o options) (out []source, operators int, name string, err error) {
	files, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		return nil, 0, "", err
	}
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") || o.file != "" && filepath.Base(file) != o.file {
			continue
		}
		text, err := os.ReadFile(file)
		if err != nil {
			return nil, 0, "", err
		}
		of, all, err := mutants(file, text)
		if err != nil {
			return nil, 0, "", err
		}
		lines, err := changed(ctx, file, o.since)
		if err != nil {
			return nil, 0, "", err
		}
		s := source{file: file, text: text}
		for i := range all {
			m := &all[i]
			if lines != nil && !lines[m.Line] {
				continue
			}
			if m.op != token.ILLEGAL {
				operators++
				m.number = operators
			}
			s.mutants = append(s.mutants, m)
		}
		out, name = append(out, s), of
	}
	return out, operators, name, nil
}

// try tries the mutants of one package: its operators over one binary, its constants one by one.
func (s *score) try(ctx context.Context, dir string, o options, late func() bool, w io.Writer) error {
	sources, operators, name, err := collect(ctx, dir, o)
	if err != nil {
		return err
	}
	var bin *tested
	if operators > 0 && !late() {
		tmp, err := os.MkdirTemp("", "mutants")
		if err != nil {
			return err
		}
		defer os.RemoveAll(tmp)
		files := map[string][]byte{}
		for _, f := range sources {
			if text := switched(f.text, f.mutants); !bytes.Equal(text, f.text) {
				files[f.file] = text
			}
		}
		if bin, err = build(ctx, dir, filepath.Join(tmp, "tests"), files, name, o.each); err != nil {
			return err
		}
	}
	for _, f := range sources {
		for _, m := range f.mutants {
			if late() {
				s.untried++
				continue
			}
			var ok bool
			if m.op != token.ILLEGAL {
				ok, err = bin.notices(ctx, m.number)
			} else {
				_, err = overlay.Test(ctx, dir, f.file, m.apply(f.text), "-short", "-failfast", "-timeout", o.each.String())
				ok, err = failed(ctx, err)
			}
			if err != nil {
				return err
			}
			if ok {
				s.noticed++
				continue
			}
			s.survived++
			fmt.Fprintf(w, "%s:%d: %s instead of %s goes unnoticed\n", f.file, m.Line, m.New, m.Old)
		}
	}
	return nil
}
