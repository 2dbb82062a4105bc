// Examine_case examines the casts of a case file and prints whether the mounting can
// be trusted, where the stops lie and what the movements show.
package main

import (
	"context"
	"fmt"
	"log"
	"os"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
)

func main() {
	path := "testdata/case/case.yaml" // from the top of the module
	if len(os.Args) > 1 {
		path = os.Args[1]
	}
	f, err := examine(context.Background(), path)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println("mounting:", f.Centric.Mounting.Verdict)
	for _, reason := range f.Centric.Mounting.Reasons {
		fmt.Println(" ", reason)
	}
	fmt.Println("stops:")
	for _, s := range f.Centric.Stops {
		fmt.Printf("  %v (stable: %t)\n", s.Text, s.Stable)
	}
	for _, x := range f.Excursions {
		fmt.Printf("%s movement, %d positions:\n", x.Movement, len(x.Frames))
		for _, g := range x.Findings {
			fmt.Printf("  %d. %v\n", g.Severity, g.Text)
		}
	}
}

func examine(ctx context.Context, path string) (*findings.Findings, error) {
	c, warnings, err := casefile.Read(path)
	if err != nil {
		return nil, err
	}
	for _, w := range warnings {
		fmt.Fprintln(os.Stderr, w)
	}
	upper, lower, err := occlusion.Load(ctx, c)
	if err != nil {
		return nil, err
	}
	casts, err := occlusion.Assemble(ctx, c, upper, lower)
	if err != nil {
		return nil, err
	}
	return occlusion.Examine(ctx, c, casts, occlusion.Options{AsSet: true})
}
