// Lateral_excursion closes two wavy strips at each travel of a movement to the
// right and prints how far they are held open, and where.
package main

import (
	"context"
	"fmt"
	"log"
	"math"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

func main() {
	upper, lower := strip(0.6), strip(0)
	closer, err := contact.NewCloser(context.Background(), upper, lower)
	if err != nil {
		log.Fatal(err)
	}
	path, err := kinematics.Straight(33 * s1.Degree)
	if err != nil {
		log.Fatal(err)
	}
	side := kinematics.Side{Path: path, SideShiftAngle: 10 * s1.Degree}
	settings := kinematics.Settings{Intercondylar: 110, Right: side, Left: side}
	travels, err := kinematics.Samples(3, 0.5)
	if err != nil {
		log.Fatal(err)
	}
	var scratch contact.CloserScratch
	for _, travel := range travels {
		station, err := settings.Station(kinematics.Right, travel)
		if err != nil {
			log.Fatal(err)
		}
		if touch, ok := closer.Close(station.Base(), &scratch); ok {
			fmt.Printf("%.1f mm: closes to %+.3f° and touches at %.1f\n", travel, touch.Opening.Degrees(), touch.Point)
		}
	}
}

// strip is a wavy strip in front of the hinge axis, in the articulator frame.
func strip(above float64) *contact.Arch {
	const n = 60
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for j := range n + 1 {
		for i := range n + 1 {
			x, y := 50*(float64(i)/n-0.5), -45-35*float64(j)/n
			verts = append(verts, r3.Vec{X: x, Y: y, Z: -33 + above + 0.6*math.Cos(x/2)*math.Cos(y/2)})
			if a := mesh.VertexID(j*(n+1) + i); i < n && j < n {
				tris = append(tris, [3]mesh.VertexID{a, a + 1, a + n + 2}, [3]mesh.VertexID{a, a + n + 2, a + n + 1})
			}
		}
	}
	m, err := mesh.New(verts, tris)
	if err != nil {
		log.Fatal(err)
	}
	arch, err := contact.NewArch(m, nil)
	if err != nil {
		log.Fatal(err)
	}
	return arch
}
