package segment_test

import (
	"context"
	"fmt"
	"log"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/segment"
)

// The teeth of a scan without labels.
func Example() {
	made, err := typodont.Generate(context.Background(), typodont.Params{Triangles: 20000}) // or a scan that was read
	if err != nil {
		log.Fatal(err)
	}
	found, err := segment.Find(context.Background(), made.Upper.Mesh, dentition.Upper, segment.Options{})
	if err != nil {
		log.Fatal(err)
	}
	for _, t := range found.Teeth {
		fmt.Print(t.Tooth, " ")
	}
	// Output: 11 12 13 14 15 16 17 21 22 23 24 25 26 27
}
