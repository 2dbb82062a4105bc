package occlusion_test

import (
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/faultkit"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/articulate"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// Casts that hand articulation put together are judged with its own error: a lower cast that is rolled by less
// than that is no reason to mount anew, which it is where a bite scan tells the relation, and the verdict states the error,
// rounded up to 50 µm.
func TestCastsPutTogetherByHandAreJudgedWithTheirOwnError(t *testing.T) {
	c, err := typodont.Generate(t.Context(), typodont.Params{Triangles: 30000})
	require.NoError(t, err)
	scan := func(a typodont.Arch) *casts.Scan {
		teeth, err := a.Labels.Triangles(a.Mesh)
		require.NoError(t, err)
		return &casts.Scan{Mesh: a.Mesh, Labels: a.Labels, Teeth: teeth}
	}
	rolled := c.Lower
	rolled.Mesh, err = faultkit.Moved(c.Lower.Mesh, faultkit.Motion{Roll: 0.3 * s1.Degree, About: c.Lower.Mesh.Bounds().Center()})
	require.NoError(t, err)
	for _, byHand := range []bool{false, true} {
		file := c.CaseFile()
		// Where casts are off they do not seat within a doubt of 1 µm: they stand as given.
		file.Settle = casefile.Settle{How: casefile.SettleSeat, DoubtUm: 1}
		if byHand {
			mount := file.Mount
			articulate.Enter(file, &findings.Articulated{ErrorFrontMM: 0.21, ErrorMolarsMM: 0.31})
			require.InDelta(t, 350, file.Settle.DoubtUm, 0)
			file.Mount = mount
		}
		f := examineScans(t, file, scan(c.Upper), scan(rolled))
		m := &f.Centric.Mounting
		text := language.Join(language.Text(m.Reasons)).String()
		if !byHand {
			assert.Equal(t, findings.Remount, m.Verdict, text)
			assert.NotContains(t, text, "put together by hand")
			continue
		}
		assert.Equal(t, findings.Undecided, m.Verdict, text)
		assert.Contains(t, text, "The relation of these casts is known to 350 µm only, as for casts put together by hand")
	}
	// Its own error is never taken to be less than that of a bite scan.
	file := c.CaseFile()
	articulate.Enter(file, &findings.Articulated{ErrorFrontMM: 0.04, ErrorMolarsMM: 0.05})
	assert.InDelta(t, casefile.Default().Settle.DoubtUm, file.Settle.DoubtUm, 0)
}
