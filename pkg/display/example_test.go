package display_test

import (
	"context"
	"fmt"
	"log"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
)

// The clearance of every vertex of the casts, ready to be coloured.
func Example() {
	ctx := context.Background()
	c, _, err := casefile.Read("../../testdata/case/case.yaml")
	if err != nil {
		log.Fatal(err)
	}
	upper, lower, err := occlusion.Load(ctx, c)
	if err != nil {
		log.Fatal(err)
	}
	pair, err := occlusion.Assemble(ctx, c, upper, lower)
	if err != nil {
		log.Fatal(err)
	}
	f, err := occlusion.Examine(ctx, c, pair, occlusion.Options{AsSet: true})
	if err != nil {
		log.Fatal(err)
	}
	d, err := display.New(ctx, pair, f, display.Options{})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(d.Upper.Mesh.NumVertices() > 0, len(d.Maps) > 0)
	// Output: true true
}
