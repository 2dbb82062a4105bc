// Command calibration measures whether the probabilities of findings are true: whether what is
// called 7 of 10 stands in seven of ten.
//
// It makes dentitions with interferences, shallow guidance and high teeth of all sizes. Each
// has true settings, drawn from the errors that an examination assumes around the ones that it
// is told, and stands truly in its articulator; what is examined are distorted scans of it,
// registered with an error. The dentition itself is examined with its true settings: that is
// the truth. It draws errors by code of its own: turns go along the arch in random
// steps, settings are drawn from the sizes that the findings list.
//
//	go run ./internal/calibration               the table of docs/how-sure.md
//	go run ./internal/calibration -n 500        as many dentitions as the promise names
//	go run ./internal/calibration -heavier      truth errs by Student's t with 4 degrees
//	go run ./internal/calibration -shuffle      truth of other dentitions: must fail
//	go run ./internal/calibration -n 2          a glance
//	go run ./internal/calibration -first 8 -n 8 -save part2.jsonl
//	go run ./internal/calibration -picture docs/reliability.svg part*.jsonl   in pieces, scored together
//
// It ends with 1 where a line is not held.
package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/signal"

	"github.com/cusptrace/cusptrace/internal/par"
)

type options struct {
	first, n, samples, triangles int
	save, picture                string
	parts                        []string
	seed                         uint64
	heavier, shuffle             bool
	verbose                      bool
}

func main() {
	var o options
	flag.IntVar(&o.n, "n", 100, "number of dentitions")
	flag.IntVar(&o.first, "first", 0, "number of the first dentition")
	flag.StringVar(&o.save, "save", "", "file to write the findings to instead of scoring them")
	flag.StringVar(&o.picture, "picture", "", "file to draw the reliability into, SVG")
	flag.IntVar(&o.samples, "samples", 64, "samples of each examination")
	flag.IntVar(&o.triangles, "triangles", 20000, "triangles of each arch, about")
	flag.Uint64Var(&o.seed, "seed", 1, "seed of all that is drawn")
	flag.BoolVar(&o.heavier, "heavier", false, "draw the truth from heavier errors than are assumed")
	flag.BoolVar(&o.shuffle, "shuffle", false, "take the truth from other dentitions")
	flag.BoolVar(&o.verbose, "v", false, "print every finding")
	flag.Parse()
	o.parts = flag.Args()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	err := run(ctx, o, os.Stdout)
	if err != nil {
		fmt.Fprintln(os.Stderr, "calibration:", err)
		os.Exit(1)
	}
}

var errLines = errors.New("the probabilities do not hold the lines")

// run makes the dentitions, examines them and prints the scores.
func run(ctx context.Context, o options, w io.Writer) error {
	var all []forecast
	var err error
	if len(o.parts) > 0 {
		all, err = load(o.parts)
	} else {
		all, err = measure(ctx, o, w)
	}
	if err != nil {
		return err
	}
	if o.save != "" {
		return store(o.save, all)
	}
	if o.verbose {
		for _, f := range all {
			fmt.Fprintf(w, "%4d  said %.3f  stands %-5v  %s\n", f.Dentition, f.P, f.Stands, f.What)
		}
	}
	rng := rand.New(rand.NewPCG(o.seed, 77))
	if o.shuffle {
		shuffle(all, rng)
	}
	if len(all) == 0 {
		return errors.New("no findings")
	}
	s := judge(all, 0.5/float64(o.samples), rng)
	s.write(w)
	if o.picture != "" {
		if err := s.draw(o.picture); err != nil {
			return err
		}
	}
	if faults := s.faults(o.heavier); len(faults) > 0 {
		for _, f := range faults {
			fmt.Fprintln(w, "fails:", f)
		}
		return errLines
	}
	fmt.Fprintln(w, "passes")
	return nil
}

// measure makes the dentitions and compares what is said of them with the truth.
func measure(ctx context.Context, o options, w io.Writer) ([]forecast, error) {
	bases, err := makeBases(ctx, o)
	if err != nil {
		return nil, err
	}
	found := make([][]forecast, o.n)
	failed := make([]error, o.n)
	err = par.Chunks(ctx, o.n, 1, 0, func(_, i, _ int) error {
		k := o.first + i
		found[i], failed[i] = one(ctx, bases[k/perBase], k, o)
		return ctx.Err()
	})
	var all []forecast
	for i := range found {
		if failed[i] != nil {
			fmt.Fprintf(w, "dentition %d left out: %v\n", o.first+i, failed[i])
		}
		all = append(all, found[i]...)
	}
	return all, err
}

// store writes forecasts, one a line; load reads them.
func store(path string, all []forecast) error {
	var out []byte
	for i := range all {
		line, err := json.Marshal(&all[i])
		if err != nil {
			return err
		}
		out = append(append(out, line...), '\n')
	}
	return os.WriteFile(path, out, 0o644)
}

func load(paths []string) ([]forecast, error) {
	var out []forecast
	for _, p := range paths {
		data, err := os.ReadFile(p)
		if err != nil {
			return nil, err
		}
		for d := json.NewDecoder(bytes.NewReader(data)); d.More(); {
			var f forecast
			if err := d.Decode(&f); err != nil {
				return nil, fmt.Errorf("%s: %w", p, err)
			}
			out = append(out, f)
		}
	}
	return out, nil
}

// shuffle gives every forecast the truth of another.
func shuffle(f []forecast, rng *rand.Rand) {
	rng.Shuffle(len(f), func(i, j int) {
		f[i].Stands, f[j].Stands = f[j].Stands, f[i].Stands
		f[i].Part, f[j].Part = f[j].Part, f[i].Part
	})
}
