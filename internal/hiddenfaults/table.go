package main

import (
	"fmt"
	"io"
	"math"
	"text/tabwriter"
)

// Targets: by how much travel and size may be off to count as right.
const (
	travelRight = 0.1 // mm
	sizeRight   = 0.1 // share
)

// tally is one line of the table.
type tally struct {
	built, hit, travels, travelRight, sizes, sizeRight, ranked, among2 int
}

func (t *tally) add(v *verdict) {
	t.built++
	if !v.hit {
		return
	}
	t.hit++
	if !math.IsNaN(v.travelOff) {
		if t.travels++; v.travelOff <= travelRight+1e-9 {
			t.travelRight++
		}
	}
	if !math.IsNaN(v.sizeShare) {
		if t.sizes++; math.Abs(v.sizeShare-1) <= sizeRight+1e-9 {
			t.sizeRight++
		}
	}
	if v.rank > 0 {
		if t.ranked++; v.rank <= 2 {
			t.among2++
		}
	}
}

func share(n, of int) string {
	if of == 0 {
		return "–"
	}
	return fmt.Sprintf("%d/%d", n, of)
}

// table prints the outcomes by kind, then what was found without a fault.
func table(w io.Writer, o options, plain, faulty []outcome) error {
	tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	all := tally{}
	by := map[string]*tally{}
	near, caused, beyond, failed := 0, 0, 0, 0
	for i := range faulty {
		c := &faulty[i]
		if c.note != "" {
			failed++
		}
		near, caused, beyond = near+c.near, caused+c.caused, beyond+c.beyond
		for k := range c.verdicts {
			v := &c.verdicts[k]
			if by[v.kind] == nil {
				by[v.kind] = &tally{}
			}
			by[v.kind].add(v)
			all.add(v)
			if o.verbose {
				fmt.Fprintf(tw, "%d\t%s\t%s\t%v/%v\tat %.1f mm\tsize %.3g\tfound %v\trank %d\ttravel off %.2f\tsize ×%.2f\n",
					c.number, v.kind, movementName(v.movement), v.upper, v.lower, v.travel, v.size, v.hit, v.rank, v.travelOff, v.sizeShare)
				if v.note != "" && !v.hit {
					fmt.Fprintf(tw, "%d\t%s\n", c.number, v.note)
				}
			}
		}
		if o.verbose && len(c.first) > 0 {
			fmt.Fprintf(tw, "%d\tfirst: %v\n", c.number, c.first)
		}
		if o.verbose && (len(c.names) > 0 || c.note != "") {
			fmt.Fprintf(tw, "%d\tbeside: %v %s\n", c.number, c.names, c.note)
		}
	}
	if len(faulty) < o.cases {
		fmt.Fprintf(tw, "%d of %d cases\n", len(faulty), o.cases)
	}
	fmt.Fprintf(tw, "fault\tfound\ttravel within %.1f mm\tsize within %.0f %%\tamong the first two\n", travelRight, 100*sizeRight)
	line := func(name string, t *tally) {
		fmt.Fprintf(tw, "%s\t%s\t%s\t%s\t%s\n", name, share(t.hit, t.built), share(t.travelRight, t.travels),
			share(t.sizeRight, t.sizes), share(t.among2, t.ranked))
	}
	for _, k := range kinds {
		if by[k] != nil {
			line(k, by[k])
		}
	}
	line("all", &all)
	clean := 0
	for _, c := range plain {
		clean += c.near
		if o.verbose && len(c.names) > 0 {
			fmt.Fprintf(tw, "faultless\tbeside: %v\n", c.names)
		}
	}
	fmt.Fprintf(tw, "\nfindings on teeth without a fault, up to edge to edge: %.2f a case with faults, %.2f a faultless dentition\n",
		float64(near)/float64(max(1, len(faulty))), float64(clean)/float64(max(1, len(plain))))
	n := float64(max(1, len(faulty)))
	fmt.Fprintf(tw, "explained by a finding on a built fault: %.2f a case; beyond edge to edge: %.2f; "+
		"cases that could not be examined: %d\n", float64(caused)/n, float64(beyond)/n, failed)
	return tw.Flush()
}
