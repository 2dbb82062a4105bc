package compare_test

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/compare"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

func Example() {
	high, low := 180.0, 60.0
	document := func(um *float64) *findings.Findings {
		return &findings.Findings{Excursions: []findings.Excursion{{Movement: findings.Right, Findings: []findings.Finding{{
			Kind: findings.KindNonworkingInterference, Upper: 27, Lower: 37, FromMM: 1.5, ToMM: 2.4, HeightUm: um,
		}}}}}
	}
	c := compare.Findings(document(&high), document(&low))
	fmt.Println(len(c.Weaker), "weaker, by", *c.Weaker[0].ByUm, "µm;", len(c.Gone), "gone")
	// Output: 1 weaker, by -120 µm; 0 gone
}
