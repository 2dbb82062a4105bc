package occlusion_test

import (
	"context"
	"testing"
	"time"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/stretchr/testify/require"
)

// BenchmarkFindings tells what findings cost: an examination as set against its
// frames alone (with/frames, to stay at most 2), and the runs with other settings
// against an examination as set (tries/exam, to stay at most 8), on one processor.
func BenchmarkFindings(b *testing.B) {
	for name, of := range map[string]func(testing.TB) *casefile.Case{"synthetic": syntheticCase, "real": realCaseWhole} {
		b.Run(name, func(b *testing.B) {
			ctx := context.Background()
			c := of(b)
			upper, lower, err := occlusion.Load(ctx, c)
			require.NoError(b, err)
			casts, err := occlusion.Assemble(ctx, c, upper, lower)
			require.NoError(b, err)
			var frames, asSet, tried time.Duration
			lap := func(sum *time.Duration, f func() error) {
				start := time.Now()
				require.NoError(b, f())
				*sum += time.Since(start)
			}
			examine := func(o occlusion.Options) func() error {
				return func() error { _, err := occlusion.Examine(ctx, c, casts, o); return err }
			}
			for b.Loop() {
				lap(&frames, func() error { return occlusion.MoveAlone(ctx, c, casts, occlusion.Options{Workers: 1}) })
				lap(&asSet, examine(occlusion.Options{Workers: 1, AsSet: true}))
				lap(&tried, examine(occlusion.Options{Workers: 1}))
			}
			n := float64(b.N)
			b.ReportMetric(frames.Seconds()/n, "frames-s")
			b.ReportMetric(asSet.Seconds()/frames.Seconds(), "with/frames")
			b.ReportMetric((tried-asSet).Seconds()/asSet.Seconds(), "tries/exam")
		})
	}
}

// syntheticCase is the synthetic dentition with an interference, as finely scanned as
// usual, taken through the movements as deep as by default.
func syntheticCase(t testing.TB) *casefile.Case {
	t.Helper()
	triangles := 200000
	if testing.Short() {
		triangles = 20000
	}
	made, err := typodont.Generate(context.Background(),
		typodont.Params{Triangles: triangles, Disturbances: []typodont.Disturbance{{Kind: typodont.Interference, Tooth: 37, Movement: "right"}}})
	require.NoError(t, err)
	dir := t.TempDir()
	require.NoError(t, made.WriteDir(dir))
	c, _, err := casefile.Read(dir + "/" + typodont.CaseFile)
	require.NoError(t, err)
	return c
}

// realCaseWhole is the real case with all the frames of the default movements.
func realCaseWhole(t testing.TB) *casefile.Case {
	t.Helper()
	if testing.Short() {
		t.Skip("several examinations of large scans")
	}
	c := realCase(t)
	c.Excursions = casefile.Default().Excursions
	return c
}
