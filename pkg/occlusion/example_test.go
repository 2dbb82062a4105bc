package occlusion_test

import (
	"context"
	"fmt"
	"log"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
)

// A case in a file, from its scans to what it shows.
func Example() {
	ctx := context.Background()
	c, warnings, err := casefile.Read("../../testdata/case/case.yaml")
	if err != nil {
		log.Fatal(err) // names file, line and key
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
	fmt.Println(len(warnings), f.Centric.Mounting.Verdict, len(f.Excursions), "movements")
	// Output: 0 acceptable 3 movements
}

// Scans from memory, a case by mean values, and frames to draw while it computes.
func ExampleExamine() {
	examine := func(ctx context.Context, upper, lower *mesh.Mesh) (*findings.Findings, error) {
		up, lo := &casts.Scan{Mesh: upper}, &casts.Scan{Mesh: lower} // welded, mm
		if err := occlusion.FindTeeth(ctx, up, lo); err != nil {
			return nil, err
		}
		c := casefile.Default()
		pair, err := occlusion.Assemble(ctx, c, up, lo)
		if err != nil {
			return nil, err
		}
		return occlusion.Examine(ctx, c, pair, occlusion.Options{Frame: func(m findings.Movement, f *findings.Frame) {
			fmt.Println(m, f.TravelMM, f.Pose) // to the viewer
		}})
	}
	_ = examine
}
