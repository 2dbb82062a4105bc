package casts_test

import (
	"context"
	"fmt"
	"log"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
)

// Two scans mounted as their case says.
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
	pair, err := casts.Mount(ctx, c, upper, lower)
	if err != nil {
		log.Fatal(err)
	}
	info := casts.ScanInfo(pair.Lower)
	fmt.Println(casts.How(&c.Mount), info.Triangles, info.Labels)
	// Output: average 3584 file
}
