package occlusion_test

import (
	"context"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testcase"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// matrix mounts the synthetic case without an incisal point.
var matrix = [16]float64{1, 0, 0, 0, 0, 1, 0, -50, 0, 0, 1, -35, 0, 0, 0, 1}

// synthetic is the synthetic case in a folder of its own.
func synthetic(t testing.TB, edit func(*casefile.Case)) *casefile.Case {
	t.Helper()
	path, err := testcase.New(8).Write(t.TempDir(), edit)
	require.NoError(t, err)
	c, _, err := casefile.Read(path)
	require.NoError(t, err)
	return c
}

// realCase is the real adult's case as scanned, with few frames. It skips the
// test where the data is not there.
func realCase(t testing.TB) *casefile.Case {
	t.Helper()
	dir := filepath.Join("..", "..", "..", "shared", "data", "adult-cbct")
	if _, err := os.Stat(dir); err != nil {
		t.Skip("the real scans are not there: ", err)
	}
	c := casefile.Default()
	c.Dir = dir
	c.Upper = casefile.Arch{Scan: "upper.stl", Labels: "upper.labels.json"}
	c.Lower = casefile.Arch{Scan: "lower.stl", Labels: "lower.labels.json"}
	c.Settle = casefile.Settle{How: casefile.SettleNone}
	// Found in the scans: the mesial corners of 31 and 41, and the disto-buccal
	// cusp tips of 47 and 37.
	a := c.Mount.Average
	a.IncisalPoint, a.RightMolar, a.LeftMolar = &casefile.Point{55.02, 3.92, 60.41}, &casefile.Point{28.8, 41.57,
		62.74}, &casefile.Point{78.99, 41.21, 61.59}
	for i := range c.Excursions {
		c.Excursions[i].MaxMM, c.Excursions[i].StepMM = 4, 1
	}
	return c
}

// examinedReal is the examination of the real case, made once.
func examinedReal(t testing.TB) *findings.Findings {
	t.Helper()
	c := realCase(t)
	realOnce.Do(func() { realOnce.found = examine(t, c, 0) })
	require.NotNil(t, realOnce.found)
	return realOnce.found
}

var realOnce struct {
	sync.Once
	found *findings.Findings
}

func examine(t testing.TB, c *casefile.Case, workers int) *findings.Findings {
	t.Helper()
	ctx := context.Background()
	upper, lower, err := occlusion.Load(ctx, c)
	require.NoError(t, err)
	casts, err := occlusion.Assemble(ctx, c, upper, lower)
	require.NoError(t, err)
	f, err := occlusion.Examine(ctx, c, casts, occlusion.Options{Workers: workers, AsSet: true})
	require.NoError(t, err)
	return f
}

// spot is where a pair of teeth of the synthetic case touches, in the scan
// frame.
type spot struct {
	upper, lower dentition.ToothID
	at           r3.Vec
}

func stops() []spot {
	var out []spot
	for i, at := range testcase.New(8).Stops {
		s := spot{upper: dentition.ToothID(20 + i - testcase.Teeth + 1), lower: dentition.ToothID(30 + i - testcase.Teeth + 1), at: at}
		if i < testcase.Teeth {
			s.upper, s.lower = dentition.ToothID(10+testcase.Teeth-i), dentition.ToothID(40+testcase.Teeth-i)
		}
		out = append(out, s)
	}
	return out
}

func Degrees(d float64) s1.Angle { return s1.Angle(d) * s1.Degree }
