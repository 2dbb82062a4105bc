package anatomy_test

import (
	"context"
	"fmt"
	"log"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
)

// The cusp tips of a labelled lower first molar, and the sphere over all cusps of its
// arch.
func Example() {
	made, err := typodont.Generate(context.Background(), typodont.Params{Triangles: 20000}) // or a scan with its labels
	if err != nil {
		log.Fatal(err)
	}
	marks, err := anatomy.Landmarks(made.Lower.Mesh, made.Lower.Labels)
	if err != nil {
		log.Fatal(err)
	}
	for _, l := range marks {
		if l.Tooth == 46 && l.Feature.Cusp() {
			fmt.Println(l.Tooth, l.Feature)
		}
	}
	s, ok := anatomy.CuspSphere(marks)
	fmt.Println(ok, s.Radius > 50 && s.Radius < 500)
	// Output:
	// 46 mesiobuccal cusp
	// 46 distobuccal cusp
	// 46 distal cusp
	// 46 mesiolingual cusp
	// 46 distolingual cusp
	// true true
}
