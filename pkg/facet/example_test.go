package facet_test

import (
	"context"
	"fmt"
	"log"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/facet"
)

// The facet that a movement to the right has ground on 46 of a cast.
func Example() {
	made, err := typodont.Generate(context.Background(), typodont.Params{Triangles: 100000,
		Disturbances: []typodont.Disturbance{{Kind: typodont.Facet, Tooth: 46, Movement: "right"}}})
	if err != nil {
		log.Fatal(err)
	}
	found, err := facet.Find(context.Background(), made.Lower.Mesh, made.Lower.Labels, facet.Options{Least: facet.FacetAlone})
	if err != nil {
		log.Fatal(err)
	}
	for _, f := range found {
		fmt.Println(f.Tooth, f.Area > 0.4)
	}
	// Output: 46 true
}
