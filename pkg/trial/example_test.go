package trial_test

import (
	"context"
	"fmt"
	"log"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/trial"
)

// A case with steps under trial, and what they leave.
func Example() {
	ctx := context.Background()
	c, _, err := casefile.Read("case.yaml")
	if err != nil {
		log.Fatal(err)
	}
	upper, lower, err := occlusion.Load(ctx, c)
	if err != nil {
		log.Fatal(err)
	}
	c.Trial = []casefile.TrialStep{{Adjust: &casefile.Adjust{What: []casefile.Obstacle{casefile.PrematureContact}}}}
	r, err := trial.Run(ctx, c, upper, lower, trial.Options{})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(r.Treatment.Summary)
}
