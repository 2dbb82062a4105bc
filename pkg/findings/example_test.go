package findings_test

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// The way of any point of a cast through a movement of the findings, here of two
// frames: one in intercuspation, one with the jaw 1 mm forward and 0.5 mm down.
func ExampleExcursion_PathOf() {
	x := findings.Excursion{Movement: "protrusive", Frames: []findings.Frame{
		{TravelMM: 0, Pose: findings.Pose{}},
		{TravelMM: 1.1, Pose: findings.Pose{Pose: kinematics.Translation(r3.Vec{Y: -1, Z: -0.5})}},
	}}
	tip := r3.Vec{X: -24, Y: -52, Z: -33} // articulator frame, mm
	of := x.PathOf(tip, dentition.Lower)
	seen := x.PathOf(tip, dentition.Upper) // an upper tip, seen from the lower arch
	fmt.Printf("%.1f\n%.1f\n", of, seen)
	// Output:
	// [{-24.0 -52.0 -33.0} {-24.0 -53.0 -33.5}]
	// [{-24.0 -52.0 -33.0} {-24.0 -51.0 -32.5}]
}
