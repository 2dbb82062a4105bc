package treatment_test

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/treatment"
)

func Example() {
	t := treatment.Treatment{Steps: []treatment.Step{
		{Number: 1, Kind: treatment.Adjust, Tooth: 36, Site: "central fossa", DeepestUm: 109},
		{Number: 2, Kind: treatment.Wax, Tooth: 13, Refused: language.Literal("no opposing tooth comes near")},
	}}
	fmt.Println(t.Done(), "spot was worked on")
	// Output: 1 spot was worked on
}
