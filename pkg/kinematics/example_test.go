package kinematics_test

import (
	"fmt"
	"log"

	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

// A movement to the right with the average settings, guided by an incisal
// table: where the incisal point goes and how steep its way is.
func Example() {
	path, err := kinematics.Straight(33 * s1.Degree)
	if err != nil {
		log.Fatal(err)
	}
	side := kinematics.Side{Path: path, SideShiftAngle: 10 * s1.Degree}
	jaw := kinematics.Settings{Intercondylar: 110, Right: side, Left: side}
	incisal := r3.Vec{Y: -83, Z: -33}
	table := kinematics.IncisalTable{IncisalPoint: incisal, Inclination: 10 * s1.Degree, Wings: 20 * s1.Degree}

	travels, err := kinematics.Samples(4, 1)
	if err != nil {
		log.Fatal(err)
	}
	var poses []kinematics.Pose
	for _, travel := range travels {
		st, err := jaw.Station(kinematics.Right, travel)
		if err != nil {
			log.Fatal(err)
		}
		opening, err := table.Opening(st)
		if err != nil {
			log.Fatal(err)
		}
		poses = append(poses, st.Pose(opening))
	}
	way := kinematics.PathOf(incisal, poses)
	for i, p := range way {
		fmt.Printf("%g mm: %6.2f %7.2f %7.2f\n", travels[i], p.X, p.Y, p.Z)
	}
	steep, err := kinematics.InclinationOf(way)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("inclination %.1f°\n", steep.Degrees())
	// Output:
	// 0 mm:   0.00  -83.00  -33.00
	// 1 mm:  -0.94  -83.36  -33.41
	// 2 mm:  -1.88  -83.72  -33.81
	// 3 mm:  -2.81  -84.07  -34.21
	// 4 mm:  -3.74  -84.41  -34.61
	// inclination 21.9°
}

func ExampleAverage() {
	mounting := kinematics.Average{
		IncisalPoint:     r3.Vec{X: 0, Y: -25, Z: 0},
		RightMolar:       r3.Vec{X: -27, Y: 15, Z: 0},
		LeftMolar:        r3.Vec{X: 27, Y: 15, Z: 0},
		Up:               r3.Vec{Z: 1},
		Intercondylar:    110,
		CondyleToIncisal: 105,
		Balkwill:         22 * s1.Degree,
	}
	articulatorFromScan, err := mounting.Mount()
	if err != nil {
		log.Fatal(err)
	}
	p := articulatorFromScan.Apply(mounting.IncisalPoint)
	fmt.Printf("incisal point %.2f mm in front of and %.2f mm below the axis\n", -p.Y, -p.Z)
	// Output: incisal point 82.93 mm in front of and 33.51 mm below the axis
}

func ExampleRecorded() {
	path, err := kinematics.Recorded([]kinematics.PathPoint{
		{}, {Forward: 1, Down: 1.1}, {Forward: 3, Down: 2.6}, {Forward: 6, Down: 4}, {Forward: 9, Down: 4.6},
	})
	if err != nil {
		log.Fatal(err)
	}
	forward, down := path.At(5)
	fmt.Printf("after 5 of %.1f mm: %.2f forward, %.2f down\n", path.Length(), forward, down)
	// Output: after 5 of 10.4 mm: 3.88 forward, 3.10 down
}
