package index_test

import (
	"context"
	"fmt"
	"log"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"gonum.org/v1/gonum/spatial/r3"
)

// The nearest point of a square of 10 mm to a point above it, up to 5 mm away.
func Example() {
	square, err := mesh.New([]r3.Vec{{}, {X: 10}, {X: 10, Y: 10}, {Y: 10}}, [][3]mesh.VertexID{{0, 1, 2}, {0, 2, 3}})
	if err != nil {
		log.Fatal(err)
	}
	x, err := index.New(context.Background(), square, nil, index.Options{})
	if err != nil {
		log.Fatal(err)
	}
	hit, ok := x.Nearest(r3.Vec{X: 7, Y: 2, Z: 3}, 5)
	fmt.Println(hit.Point, hit.Dist, hit.Tri, ok)
	// Output: {7 2 0} 3 0 true
}
