package articulate_test

import (
	"context"
	"errors"
	"fmt"
	"log"

	"github.com/cusptrace/cusptrace/pkg/articulate"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
)

// Two scans of loose casts put together by their shape.
func Example() {
	scan := func(path string) *casts.Scan {
		raw, err := meshfile.ReadFile(path, meshfile.ReadOptions{Unit: mesh.Millimetre})
		if err != nil {
			log.Fatal(err)
		}
		m, _ := mesh.Weld(raw, 0)
		return &casts.Scan{Mesh: m}
	}
	found, err := articulate.Articulate(context.Background(), scan("upper.stl"), scan("lower.stl"), articulate.Options{})
	if errors.Is(err, articulate.ErrNoFit) {
		log.Fatal("no place is clearly the right one: ", err)
	}
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(found.FitText) // and the pose of the lower scan, to be written into a case
}
