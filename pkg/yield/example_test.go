package yield_test

import (
	"context"
	"fmt"
	"log"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/yield"
)

// What carries under a light touch and under a clench, when the teeth give in their
// sockets.
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
	y, err := yield.Yield(ctx, pair, c.Record, yield.Options{ForcesN: []float64{1, 100}})
	if err != nil {
		log.Fatal(err)
	}
	for _, s := range y.Steps {
		fmt.Printf("%g N: closed by %.0f µm\n", s.ForceN, s.ClosingUm)
	}
	// Output:
	// 1 N: closed by 1 µm
	// 100 N: closed by 69 µm
}
