// Command hiddenfaults measures how well examinations find faults whose truth does not come
// from the program that made the casts.
//
// It makes dentitions from a seed, builds one or two faults into copies of each with
// internal/faultkit, measures the faults by closings with and without them, examines every
// copy beside the faultless dentition through the public packages, and prints for every
// kind of fault how many were found, how far travel and size are off, where in the list they
// stand, and how many findings name teeth without a fault.
//
//	go run ./internal/hiddenfaults            the 100 cases of docs/hidden-faults.md
//	go run ./internal/hiddenfaults -n 4       a glance, as in continuous integration
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
	verbose                 bool
}

func main() {
	var o options
	flag.IntVar(&o.cases, "n", 100, "number of cases with faults")
	flag.IntVar(&o.bases, "dentitions", 10, "number of dentitions that the cases share")
	flag.IntVar(&o.triangles, "triangles", 110000, "triangles of each arch, about")
	flag.Uint64Var(&o.seed, "seed", 1, "seed of all that is drawn")
	flag.BoolVar(&o.verbose, "v", false, "print every case")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, o, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "hiddenfaults:", err)
		os.Exit(1)
	}
}

// outcome is one case, with its faults or, without any, a faultless dentition.
type outcome struct {
	verdicts             []verdict
	near, caused, beyond int
	names                []string
	first                []string // the first findings of the list
	note                 string
}

// run makes the dentitions, examines the cases and prints the table.
func run(ctx context.Context, o options, w io.Writer) error {
	bases := make([]*arches, min(o.bases, o.cases))
	err := par.Chunks(ctx, len(bases), 1, 0, func(_, i, _ int) (err error) {
		bases[i], err = base(ctx, o.seed, uint64(i), o.triangles)
		return err
	})
	if err != nil {
		return err
	}
	plain, faulty := make([]outcome, len(bases)), make([]outcome, o.cases)
	err = par.Chunks(ctx, len(bases)+o.cases, 1, 0, func(_, i, _ int) (err error) {
		if i < len(bases) {
			plain[i], err = examine(ctx, bases[i], nil)
			return err
		}
		i -= len(bases)
		faulty[i], err = one(ctx, bases[i%len(bases)], o.seed, uint64(i))
		return err
	})
	if err != nil {
		return err
	}
	return table(w, o, plain, faulty)
}

// one builds one or two faults from a seed into a copy of a dentition and examines it.
func one(ctx context.Context, of *arches, seed, k uint64) (outcome, error) {
	rng := rand.New(rand.NewPCG(seed^0x5eed, k))
	d := *of
	count := 1 + rng.IntN(2)
	var faults []fault
	for try := 0; len(faults) < count && try < 12; try++ {
		kind := kinds[(int(k)+try+len(faults))%len(kinds)]
		if len(faults) > 0 && (kind == roll || kind == shifted || kind == faults[0].kind) {
			continue // a rolled cast hides and makes others
		}
		f, err := build(ctx, &d, kind, rng)
		if errors.Is(err, errNoPlace) {
			continue
		}
		if err != nil {
			return outcome{}, err
		}
		faults = append(faults, f)
		if kind == roll || kind == shifted {
			break
		}
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
