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
	closer := must(contact.NewCloser(context.Background(), upper, lower, contact.Options{}))
	path := must(kinematics.Straight(33 * s1.Degree))
	side := kinematics.Side{Path: path, SideShiftAngle: 10 * s1.Degree}
	settings := kinematics.Settings{Intercondylar: 110, Right: side, Left: side}
	travels := must(kinematics.Samples(3, 0.5))
	var scratch contact.CloserScratch
	for _, travel := range travels {
		station := must(settings.Station(kinematics.Right, travel))
		if touch, err := closer.Close(station.Base(), &scratch); err == nil {
			fmt.Printf("%.1f mm: closes to %+.3f° and touches at %.1f\n", travel, touch.Opening.Degrees(), touch.Point)
		}
	}
}

// strip is a wavy strip in front of the hinge axis, in the articulator frame.
func strip(above float64) *contact.Arch {
	const n = 60
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for k := range mesh.VertexID((n + 1) * (n + 1)) {
		i, j := k%(n+1), k/(n+1)
		x, y := 50*(float64(i)/n-0.5), -45-35*float64(j)/n
		verts = append(verts, r3.Vec{X: x, Y: y, Z: -33 + above + 0.6*math.Cos(x/2)*math.Cos(y/2)})
		if i < n && j < n {
			tris = append(tris, [3]mesh.VertexID{k, k + 1, k + n + 2}, [3]mesh.VertexID{k, k + n + 2, k + n + 1})
		}
	}
	return must(contact.NewArch(context.Background(), must(mesh.New(verts, tris)), nil, contact.Options{}))
}

func must[T any](v T, err error) T {
	if err != nil {
		log.Fatal(err)
	}
	return v
}
