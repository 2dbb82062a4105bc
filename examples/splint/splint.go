// Splint designs an occlusal splint on the upper teeth of a case: flat, touched by
// every supporting cusp of the lower posterior teeth when the jaw closes on it, with a
// surface in front on which the lower anterior teeth guide and the posterior teeth
// disocclude. It shows how a program that models solids uses these packages:
// github.com/unixpickle/model3d makes the surface, ours say how the jaw moves and
// check how it closes.
//
//	splint [-o splint.stl] CASE
//
// It is an example of programming, not a design for a patient.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/unixpickle/model3d/model3d"
)

func main() {
	out := flag.String("o", "splint.stl", "`file` for the splint (STL)")
	flag.Parse()
	if err := run(context.Background(), os.Stdout, flag.Args(), *out); err != nil {
		fmt.Fprintln(os.Stderr, "splint:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, w io.Writer, args []string, out string) error {
	if len(args) != 1 {
		return errors.New("expected one case file")
	}
	c, pair, err := load(ctx, args[0])
	if err != nil {
		return err
	}
	made, err := build(ctx, c, pair)
	if err != nil {
		return err
	}
	if err := os.WriteFile(out, made.stl, 0o666); err != nil {
		return err
	}
	s := made.solidity
	fmt.Fprintf(w, "splint: closed surface %t, %d self-intersections, %d singular vertices, %.0f mm³\n",
		s.closed, s.selfIntersections, s.singular, s.volume)
	made.result.write(w)
	return nil
}

// load reads a case and mounts its casts.
func load(ctx context.Context, path string) (*casefile.Case, *casts.Casts, error) {
	c, _, err := casefile.Read(path)
	if err != nil {
		return nil, nil, err
	}
	upper, lower, err := occlusion.Load(ctx, c)
	if err != nil {
		return nil, nil, err
	}
	pair, err := occlusion.Assemble(ctx, c, upper, lower)
	return c, pair, err
}

// product is a splint with what was found about it.
type product struct {
	stl      []byte
	solidity solidity
	result   *result
}

// build makes the splint for mounted casts and checks it.
func build(ctx context.Context, c *casefile.Case, pair *casts.Casts) (*product, error) {
	set, err := c.Settings.Kinematics()
	if err != nil {
		return nil, err
	}
	d := usual()
	rest, _, err := d.rest(pair)
	if err != nil {
		return nil, err
	}
	solid, err := d.make(ctx, pair, set, rest)
	if err != nil {
		return nil, err
	}
	surface := model3d.MarchingCubesSearch(solid, d.mesh, 8)
	p := &product{stl: model3d.EncodeSTL(surface.TriangleSlice()), solidity: solidityOf(surface)}
	welded, err := fromSTL(p.stl)
	if err != nil {
		return nil, err
	}
	p.result, err = examine(ctx, &d, pair, welded, set, rest)
	return p, err
}
