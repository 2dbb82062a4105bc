// Check_scan writes a small surface with a hole as STL, reads it back, joins
// equal corners and prints its health report.
package main

import (
	"log"
	"math"
	"os"
	"path/filepath"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"gonum.org/v1/gonum/spatial/r3"
)

func main() {
	dir, err := os.MkdirTemp("", "check_scan")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	scan := filepath.Join(dir, "scan.stl")
	if err := meshfile.WriteFile(scan, bowl(40), nil); err != nil {
		log.Fatal(err)
	}
	soup, err := meshfile.ReadFile(scan, meshfile.ReadOptions{Unit: mesh.Millimetre})
	if err != nil {
		log.Fatal(err)
	}
	welded, _ := mesh.Weld(soup, 0)
	if err := inspect.Surface(welded).WriteText(os.Stdout); err != nil {
		log.Fatal(err)
	}
}

// bowl is a square patch of a paraboloid, 60 mm wide, with one triangle missing
// near its middle.
func bowl(n int) *mesh.Mesh {
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for j := range n + 1 {
		for i := range n + 1 {
			x, y := 60*(float64(i)/float64(n)-0.5), 60*(float64(j)/float64(n)-0.5)
			verts = append(verts, r3.Vec{X: x, Y: y, Z: math.Hypot(x, y) * math.Hypot(x, y) / 80})
			if i < n && j < n {
				a := mesh.VertexID(j*(n+1) + i)
				b, c, d := a+1, a+mesh.VertexID(n)+1, a+mesh.VertexID(n)+2
				tris = append(tris, [3]mesh.VertexID{a, d, b}, [3]mesh.VertexID{a, c, d})
			}
		}
	}
	m, err := mesh.New(verts, slices.Delete(tris, n*n+n, n*n+n+1))
	if err != nil {
		log.Fatal(err)
	}
	return m
}
