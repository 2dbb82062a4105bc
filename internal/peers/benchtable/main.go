// Command benchtable measures this module and its peers on the same work, one
// after the other in one run, and prints a table.
//
//	benchtable [-reps 5] SHARED
//
// SHARED is the folder that holds peers/ (the peers' programs, in C++) and
// data/adult-cbct (the scans). The programs are built, unmodified, into a
// temporary folder by the make there; g++, CGAL and FCL must be installed.
// Peers run on one core, as they do; our index build uses two, our queries one.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"text/tabwriter"
)

func main() {
	reps := flag.Int("reps", 5, "how often each work is done; medians are shown")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, flag.Args(), *reps); err != nil {
		fmt.Fprintln(os.Stderr, "benchtable:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, args []string, reps int) error {
	if len(args) != 1 || reps < 1 {
		return errors.New("expected the folder with peers/ and data/, and at least one repetition")
	}
	tmp, err := os.MkdirTemp("", "benchtable")
	if err != nil {
		return err
	}
	defer os.RemoveAll(tmp)
	data := filepath.Join(args[0], "data", "adult-cbct")
	p := &programs{
		ctx: ctx, tmp: tmp, reps: reps, queries: filepath.Join(tmp, "queries.bin"),
		upper: filepath.Join(data, "upper.stl"), lower: filepath.Join(data, "lower.stl"),
	}
	o, err := newOurs(p.upper, p.lower, reps)
	if err != nil {
		return err
	}
	if err := o.writeQueries(p.queries); err != nil {
		return err
	}
	if err := p.build(filepath.Join(args[0], "peers")); err != nil {
		return err
	}
	rows, err := compare(o, p)
	if err != nil {
		return err
	}
	t := tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "work\tours\tpeer\tpeer's\tours better by\ttarget")
	for _, r := range rows {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\n", r.work, r.ours, r.peer, r.theirs, r.ratio, r.target)
	}
	return t.Flush()
}

// row is a line of the table.
type row struct{ work, ours, peer, theirs, ratio, target string }

func times(better float64) string { return fmt.Sprintf("%.2f×", better) }

// compare does every work, ours and the peer's in turn.
func compare(o *ours, p *programs) ([]row, error) {
	var out []row
	ms := func(x float64) string { return fmt.Sprintf("%.3g ms", x) }
	each := func(x float64) string { return fmt.Sprintf("%.3g µs", x) }

	read := o.read()
	out = append(out, row{"read 180k triangles of STL, weld", ms(read), "", "", "", "under 100 ms"})

	build, bytes := o.build()
	for _, lib := range []string{"cgal", "fcl"} {
		r, err := p.find(lib, "w1", "W1", func(result) bool { return true })
		if err != nil {
			return nil, err
		}
		theirBytes := r.number("held_mb") * (1 << 20) / r.number("triangles")
		out = append(out,
			row{"index build", ms(build), lib, ms(r.number("build_ms")), times(r.number("build_ms") / build), "under 120 ms"},
			row{"index size, bytes a triangle", fmt.Sprintf("%.0f", bytes), lib, fmt.Sprintf("%.0f", theirBytes),
				times(theirBytes / bytes), "under 100"})
	}

	for _, mode := range []string{"mesh order", "random order"} {
		us := o.closest(mode == "random order")
		r, err := p.find("cgal", "w2", "W2", func(r result) bool { return r.text("mode") == mode && r.number("threads") == 1 })
		if err != nil {
			return nil, err
		}
		theirs := 1e6 / r.number("queries_per_s")
		out = append(out, row{"closest point, " + mode, each(us), "cgal", each(theirs), times(theirs / us), "at least 2×"})
	}

	pairs, n := o.pairs()
	for i, method := range []string{"own box-box traversal of AABB_tree + squared_distance(tri,tri)",
		"box_intersection_d (no prior index) + squared_distance(tri,tri)"} {
		r, err := p.find("cgal", "w5", "W5", func(r result) bool { return r.text("method") == method && r.number("threads") == 1 })
		if err != nil {
			return nil, err
		}
		if got := r.number("pairs"); got != float64(n) {
			return nil, fmt.Errorf("%d pairs within 0.2 mm, but CGAL finds %v", n, got)
		}
		name := [2]string{"tree", "boxes"}[i]
		out = append(out, row{fmt.Sprintf("%d pairs within 0.2 mm", n), ms(pairs), "cgal, " + name, ms(r.number("ms")),
			times(r.number("ms") / pairs), "no slower"})
	}

	gap, dist := o.sweep()
	for _, work := range []string{"W3", "W3_seeded"} {
		r, err := p.find("fcl", "w3", work, func(r result) bool { return r.number("threads") == 1 && r.number("nearest_points") == 0 })
		if err != nil {
			return nil, err
		}
		if d := largestDifference(dist, r.numbers("distance_mm")); !(d <= 1e-6) {
			return nil, fmt.Errorf("gaps differ from FCL's by %g mm", d)
		}
		name := map[string]string{"W3": "fcl", "W3_seeded": "fcl, seeded"}[work]
		out = append(out, row{"least gap, 61 poses, a pose", ms(gap), name, ms(r.number("ms_per_pose_mean")),
			times(r.number("ms_per_pose_mean") / gap), "under 0.4 ms"})
	}

	// The five closings of the peers' program, one after the other, and the
	// frames of an excursion, which follow each other closely.
	closing, angles, err := o.closings(p.ctx)
	if err != nil {
		return nil, err
	}
	mean, touch, err := p.closings()
	if err != nil {
		return nil, err
	}
	if d := largestDifference(angles, touch); !(d <= 1e-6) {
		return nil, fmt.Errorf("closing angles differ from FCL's bisection by %g rad", d)
	}
	out = append(out,
		row{"closing, 5 lateral positions, each", ms(closing), "fcl, bisected to 1e-6", ms(mean), times(mean / closing), ""},
		row{"closing, 81 frames, each", ms(o.frames()), "", "", "", "under 0.4 ms"})
	return out, nil
}
