package inspect_test

import (
	"fmt"
	"log"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
	"gonum.org/v1/gonum/spatial/r3"
)

// A scan written in metres and read in millimetres cannot be an arch; the error names
// the unit that would fit.
func Example() {
	m, err := mesh.New([]r3.Vec{{}, {X: 0.062}, {Y: 0.055}}, [][3]mesh.VertexID{{0, 1, 2}})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(inspect.CheckSize(m, mesh.Millimetre))
	fmt.Println(inspect.Surface(m).Triangles, "triangle")
	// Output:
	// size is impossible for a dental arch: read in mm its largest side is 0.062 mm, a dental arch has 50 to 90 mm; in m it would be 62 mm
	// 1 triangle
}
