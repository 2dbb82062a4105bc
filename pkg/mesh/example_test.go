package mesh_test

import (
	"fmt"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
)

// A scan is read in the unit it was written in, its vertices are joined, and
// what is wrong with it is reported.
func Example() {
	scan := strings.NewReader(`solid
facet normal 0 0 0 outer loop
vertex 0 0 0
vertex 1 0 0
vertex 0 1 0
endloop endfacet
facet normal 0 0 0 outer loop
vertex 1 0 0
vertex 0 1 0
vertex 1 1 0
endloop endfacet
endsolid`)
	soup, err := meshfile.Read(scan, meshfile.ReadOptions{Unit: mesh.Inch, Name: "scan.stl"})
	if err != nil {
		fmt.Println(err)
		return
	}
	m, remap := mesh.Weld(soup, 0)
	r := inspect.Surface(m)
	fmt.Println(len(remap), "corners became", r.Vertices, "vertices")
	fmt.Println(r.SizeMM[0], "mm wide,", r.FlippedTriangles, "flipped triangle")
	// Output:
	// 6 corners became 4 vertices
	// 25.4 mm wide, 1 flipped triangle
}
