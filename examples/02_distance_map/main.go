// Distance_map measures how far every vertex of one surface is from another and
// writes the map as a coloured PLY, dark where they are near.
package main

import (
	"context"
	"fmt"
	"log"
	"math"
	"os"
	"path/filepath"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"gonum.org/v1/gonum/spatial/r3"
)

func main() {
	upper := arch(1, func(x, y float64) float64 { return 0.2 + 0.001*x*x })
	lower := arch(-1, func(x, y float64) float64 { return -0.3 * (1 + math.Cos(y/5)) })
	lowered := kinematics.Translation(r3.Vec{Z: -0.1})
	gaps := must(contact.AppendLowerMap(context.Background(), nil, upper, lower, lowered, 3, contact.Options{}))
	colours, least := make([]meshfile.RGB, len(gaps)), math.Inf(1)
	for i, d := range gaps {
		grey := uint8(255 * min(1, d/2))
		least, colours[i] = min(least, d), meshfile.RGB{grey, grey, grey}
	}
	out := filepath.Join(os.TempDir(), "distance_map.ply")
	if err := meshfile.WriteFile(out, lower.Mesh(), colours); err != nil {
		log.Fatal(err)
	}
	fmt.Printf("least distance %.3f mm, map of %d vertices in %s\n", least, len(gaps), out)
}

// arch is a patch of 40 × 40 mm at the height z that faces down (facing 1) or up
// (facing −1).
func arch(facing float64, z func(x, y float64) float64) *contact.Arch {
	const n = 50
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for k := range mesh.VertexID((n + 1) * (n + 1)) {
		i, j := k%(n+1), k/(n+1)
		x, y := facing*40*(float64(i)/n-0.5), 40*(float64(j)/n-0.5)
		verts = append(verts, r3.Vec{X: x, Y: y, Z: z(x, y)})
		if i < n && j < n {
			tris = append(tris, [3]mesh.VertexID{k, k + n + 1, k + n + 2}, [3]mesh.VertexID{k, k + n + 2, k + 1})
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
