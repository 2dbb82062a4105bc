package contact_test

import (
	"context"
	"fmt"
	"log"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// A ball, 60 mm in front of the hinge axis, closes on a plane above it in a
// movement to the right: where it touches, how far it is held open, and the
// contact under a foil of 40 µm (a cap of 2π·3·0.04 = 0.75 mm²).
func Example() {
	ctx := context.Background()
	upper, err := contact.NewArch(ctx, testmesh.Turned(testmesh.Shifted(testmesh.Plane(40, 4), r3.Vec{Y: -60, Z: -20})),
		nil, contact.Options{})
	if err != nil {
		log.Fatal(err)
	}
	lower, err := contact.NewArch(ctx, testmesh.Shifted(testmesh.Sphere(3, 20), r3.Vec{Y: -60, Z: -24}), nil, contact.Options{})
	if err != nil {
		log.Fatal(err)
	}
	closer, err := contact.NewCloser(ctx, upper, lower, contact.Options{})
	if err != nil {
		log.Fatal(err)
	}
	stations := kinematics.MeanSettings().Stations(kinematics.Right, []float64{0, 1, 2})
	for f, err := range closer.Frames(ctx, stations, contact.FrameOptions{Foils: []float64{0.04}}) {
		if err != nil {
			log.Fatal(err)
		}
		fmt.Printf("%g mm: opened by %.2f°, touch at %.1f, %.1f mm² of contact\n",
			f.Station.Travel, f.Opening.Degrees(), f.Touch.Point, f.Patches[0].Area)
	}
	// Output:
	// 0 mm: opened by -0.95°, touch at {-0.0 -60.3 -20.0}, 0.7 mm² of contact
	// 1 mm: opened by -1.21°, touch at {-0.7 -60.8 -20.0}, 0.7 mm² of contact
	// 2 mm: opened by -1.46°, touch at {-1.4 -61.3 -20.0}, 0.7 mm² of contact
}
