package report_test

import (
	"context"
	"log"
	"os"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/report"
)

// The summary of an examination as the command prints it, and its files in a folder.
func Example() {
	ctx := context.Background()
	c, _, err := casefile.Read("../../testdata/case/case.yaml")
	if err != nil {
		log.Fatal(err)
	}
	upper, lower, err := occlusion.Load(ctx, c)
	if err != nil {
		log.Fatal(err)
	}
	pair, err := occlusion.Assemble(ctx, c, upper, lower)
	if err != nil {
		log.Fatal(err)
	}
	f, err := occlusion.Examine(ctx, c, pair, occlusion.Options{})
	if err != nil {
		log.Fatal(err)
	}
	if err := report.WriteSummary(os.Stdout, f, report.TextOptions{}); err != nil {
		log.Fatal(err)
	}
	if err := report.WriteDir(ctx, "out", f); err != nil { // findings.json and the tables
		log.Fatal(err)
	}
}
