// Command hiddenfaults measures how well examinations find faults whose truth does not come
// from the program that made the casts.
//
// It makes dentitions from a seed, builds one or two faults into copies of each with
// internal/faultkit, measures the faults by closings with and without them, examines every
// copy beside the faultless dentition through the public packages, and prints for every
// kind of fault how many were found, how far travel and size are off, where in the list they
// stand, and how many findings name teeth without a fault.
//
//	go run ./internal/hiddenfaults                           100 cases
//	go run ./internal/hiddenfaults -dentitions 6 -seed 23    those of docs/hidden-faults.md
//	go run ./internal/hiddenfaults -v -case 4                one of the 100 again
//	go run ./internal/hiddenfaults -dentitions 6 -piece 2    those of the third dentition
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/signal"
	"slices"
	"sync"
	"syscall"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
)

// options are the command line.
type options struct {
	cases, bases, triangles int
	seed                    uint64
	workers, only, piece    int
	verbose                 bool
}

func main() {
	var o options
	flag.IntVar(&o.cases, "n", 100, "number of cases with faults")
	flag.IntVar(&o.bases, "dentitions", 10, "number of dentitions that the cases share")
	flag.IntVar(&o.triangles, "triangles", 80000, "triangles of each arch, about")
	flag.Uint64Var(&o.seed, "seed", 1, "seed of all that is drawn")
	flag.IntVar(&o.workers, "workers", 0, "number of cases at a time, 0 for one a processor")
	flag.IntVar(&o.only, "case", -1, "number of the only case to examine, as -v prints it")
	flag.IntVar(&o.piece, "piece", -1, "number, from 0, of the only dentition whose cases are examined: the work in pieces")
	flag.BoolVar(&o.verbose, "v", false, "print every case")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := run(ctx, o, os.Stdout, os.Stderr); err != nil {
		fmt.Fprintln(os.Stderr, "hiddenfaults:", err)
		os.Exit(1)
	}
}

// outcome is one case, with its faults or, without any, a faultless dentition.
type outcome struct {
	number               int
	verdicts             []verdict
	near, caused, beyond int
	names                []string
	first                []string // the first findings of the list
	note                 string
}

// asked says whether a dentition, of so many, is asked for by a piece or an only case.
func (o *options) asked(dentition, of int) bool {
	return (o.piece < 0 || dentition == o.piece) && (o.only < 0 || o.only%of == dentition)
}

// run makes the dentitions, examines the cases and prints the table. Where it is interrupted
// the table is of what is done.
func run(ctx context.Context, o options, w, progress io.Writer) error {
	bases := make([]*arches, min(o.bases, o.cases))
	err := par.Chunks(ctx, len(bases), 1, o.workers, func(_, i, _ int) (err error) {
		if !o.asked(i, len(bases)) {
			return nil
		}
		bases[i], err = base(ctx, o.seed, uint64(i), o.triangles)
		return err
	})
	if err != nil {
		return err
	}
	var mu sync.Mutex
	var plain, faulty []outcome
	err = par.Chunks(ctx, len(bases)+o.cases, 1, o.workers, func(_, i, _ int) error {
		d, k, list := bases[i%len(bases)], i-len(bases), &faulty
		if o.only >= 0 && k != o.only || !o.asked(i%len(bases), len(bases)) {
			return nil
		}
		var out outcome
		var err error
		if k < 0 {
			list = &plain
			out, err = examine(ctx, d, nil)
		} else {
			out, err = one(ctx, d, o.seed, uint64(k))
		}
		if err != nil {
			return err
		}
		mu.Lock()
		defer mu.Unlock()
		out.number = k
		*list = append(*list, out)
		fmt.Fprintf(progress, "\r%d of %d cases", len(plain)+len(faulty), len(bases)+o.cases)
		return nil
	})
	fmt.Fprintln(progress)
	if err != nil && ctx.Err() == nil {
		return err
	}
	slices.SortFunc(faulty, func(a, b outcome) int { return a.number - b.number })
	return table(w, o, plain, faulty)
}

// tries is how often a kind of fault is tried on a dentition before the next kind is.
const tries = 3

// one builds one or two faults from a seed into a copy of a dentition and examines it.
func one(ctx context.Context, of *arches, seed, k uint64) (outcome, error) {
	rng := rand.New(rand.NewPCG(seed^0x5eed, k))
	d, faults := *of, []fault(nil)
	count := 1 + rng.IntN(2)
	for try := 0; len(faults) < count && try < tries*len(kinds); try++ {
		kind := kinds[(int(k)+try/tries)%len(kinds)]
		if len(faults) > 0 {
			kind = kinds[rng.IntN(len(kinds))]
		}
		if len(faults) > 0 && !faults[0].beside(kind) {
			continue
		}
		next := d
		f, err := build(ctx, &next, kind, rng)
		if err == nil && len(faults) > 0 {
			err = faults[0].stands(ctx, &next, &f)
		}
		if errors.Is(err, errNoPlace) {
			continue
		}
		if err != nil {
			return outcome{}, err
		}
		d, faults = next, append(faults, f)
	}
	return examine(ctx, &d, faults)
}

// examine examines a pair as an embedder would and judges what it reports.
func examine(ctx context.Context, d *arches, faults []fault) (outcome, error) {
	upper, err := scan(d.upper, d.upperTeeth)
	if err != nil {
		return outcome{}, err
	}
	lower, err := scan(d.lower, d.lowerTeeth)
	if err != nil {
		return outcome{}, err
	}
	c := *d.file
	c.Settle = casefile.Default().Settle
	for _, f := range faults {
		if f.kind == roll || f.kind == shifted {
			c.Settle.How = casefile.SettleNone // as given: the mounting is what is asked about
		}
	}
	pair, err := occlusion.Assemble(ctx, &c, upper, lower)
	if err != nil {
		return outcome{note: err.Error()}, ctx.Err()
	}
	f, err := occlusion.Examine(ctx, &c, pair, occlusion.Options{Workers: 1, AsSet: true})
	if err != nil {
		return outcome{note: err.Error()}, ctx.Err()
	}
	return weigh(f, faults), nil
}

func weigh(f *findings.Findings, faults []fault) outcome {
	list := numbered(f)
	var out outcome
	for i := range faults {
		out.verdicts = append(out.verdicts, judge(&faults[i], f, list))
	}
	slices.SortFunc(list, func(a, b found) int { return a.rank - b.rank })
	for _, g := range list[:min(5, len(list))] {
		out.first = append(out.first, g.String())
	}
	out.near, out.caused, out.beyond, out.names = strays(list, faults)
	return out
}

func scan(m *mesh.Mesh, l *dentition.Labels) (*casts.Scan, error) {
	teeth, err := l.Triangles(m)
	return &casts.Scan{Mesh: m, Labels: l, Teeth: teeth}, err
}
