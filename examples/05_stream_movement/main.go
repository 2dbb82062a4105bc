// Stream_movement reads two scans from memory and streams a movement out.
package main

import (
	"bytes"
	"context"
	"fmt"
	"log"
	"math"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"gonum.org/v1/gonum/spatial/r3"
)

// stream calls frame for each position of a movement of two STL files in memory,
// in mm and the articulator frame.
func stream(ctx context.Context, upper, lower []byte, m kinematics.Movement, frame func(*contact.Frame)) {
	closer := must(contact.NewCloser(ctx, arch(ctx, upper), arch(ctx, lower), contact.Options{}))
	stations := kinematics.MeanSettings().Stations(m, must(kinematics.Samples(3, 0.5)))
	for f, err := range closer.Frames(ctx, stations, contact.FrameOptions{Foils: []float64{0.04}}) {
		frame(must(f, err))
	}
}

func arch(ctx context.Context, stl []byte) *contact.Arch {
	raw := must(meshfile.Read(bytes.NewReader(stl), meshfile.ReadOptions{Unit: mesh.Millimetre}))
	m, _ := mesh.Weld(raw, 0) // STL has no common corners
	return must(contact.NewArch(ctx, m, nil, contact.Options{}))
}

func main() {
	stream(context.Background(), strip(0.6, 1), strip(0, -1), kinematics.Right, func(f *contact.Frame) {
		fmt.Printf("%.1f mm: moved by %.2f, opened by %+.2f°, %d contacts, touch at %.1f\n",
			f.Station.Travel, f.Pose.Offset(), f.Opening.Degrees(), len(f.Patches), f.Touch.Point)
	})
}

// strip is the STL file of a wavy strip in front of the hinge axis.
func strip(above, facing float64) []byte {
	verts, tris := make([]r3.Vec, 9600), make([][3]mesh.VertexID, 3200)
	for i := range verts { // 40 squares a side, six corners each
		k := [6][2]int{{0, 0}, {1, 1}, {1, 0}, {0, 0}, {0, 1}, {1, 1}}[i%6]
		x, y := 25*facing*(float64(i/6%40+k[0])/20-1), -45-35*float64(i/240+k[1])/40
		verts[i], tris[i/3][i%3] = r3.Vec{X: x, Y: y, Z: -33 + above + 0.6*math.Cos(x/2)*math.Cos(y/2)}, mesh.VertexID(i)
	}
	var b bytes.Buffer
	must(0, meshfile.WriteSTL(&b, must(mesh.Adopt(verts, tris))))
	return b.Bytes()
}

func must[T any](v T, err error) T {
	if err != nil {
		log.Fatal(err)
	}
	return v
}
