package settle_test

import (
	"context"
	"fmt"
	"log"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/settle"
)

// How two mounted casts seat, from the relation in which they were scanned.
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
	seated, err := settle.Settle(ctx, pair.Upper, pair.Scanned, settle.Options{})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%s, moved by %.1f µm\n", seated.How, seated.MovedUm)
	// Output: lift, moved by 0.1 µm
}
