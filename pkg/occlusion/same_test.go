package occlusion_test

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/stretchr/testify/require"
)

// A whole examination gives the same bytes wherever a·b + c is not fused: the golden
// file holds the hash of findings made on amd64, and CI runs this test as wasm too. The
// teeth of the upper arch are found, so that the finder is held as well.
func TestGoldenBits(t *testing.T) {
	ctx := context.Background()
	made, err := typodont.Generate(ctx, typodont.Params{Triangles: 20000, Disturbances: []typodont.Disturbance{
		{Kind: typodont.Raise, Tooth: 26, Cusp: "mesiopalatal", Um: 150},
	}})
	require.NoError(t, err)
	c := made.CaseFile()
	c.Excursions = []casefile.Excursion{{Movement: kinematics.Right, MaxMM: 2, StepMM: 0.5},
		{Movement: kinematics.Protrusive, MaxMM: 2, StepMM: 0.5}}
	teeth, err := made.Lower.Labels.Triangles(made.Lower.Mesh)
	require.NoError(t, err)
	upper := &casts.Scan{Mesh: made.Upper.Mesh}
	lower := &casts.Scan{Mesh: made.Lower.Mesh, Labels: made.Lower.Labels, Teeth: teeth}
	require.NoError(t, occlusion.FindTeeth(ctx, upper, lower))
	pair, err := occlusion.Assemble(ctx, c, upper, lower)
	require.NoError(t, err)
	f, err := occlusion.Examine(ctx, c, pair, occlusion.Options{Samples: 8})
	require.NoError(t, err)
	for s := range f.Sentences() { // wording may change, numbers not
		*s = findings.Sentence{}
	}
	document, err := json.Marshal(f)
	require.NoError(t, err)
	files.Check(t, "bits.txt", fmt.Sprintf("%x\n", sha256.Sum256(document)))
}
