package typodont

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is written reads back: scans with labels of the right length, the case
// file without complaint; the bytes are the same every time, on any number of
// cores.
func TestWriteDirOnAnyCores(t *testing.T) {
	var first map[string][]byte
	several := []int{1, 3}
	if testing.Short() { // as under the race detector, which needs to see it once
		several = several[1:]
	}
	for _, cores := range several {
		old := runtime.GOMAXPROCS(cores)
		c := generate(t, Params{Triangles: 20000, Disturbances: []Disturbance{{Kind: Noise}}, Seed: 3})
		runtime.GOMAXPROCS(old)
		dir := filepath.Join(t.TempDir(), "new", "folder")
		require.NoError(t, c.WriteDir(dir))
		files := map[string][]byte{}
		entries, err := os.ReadDir(dir)
		require.NoError(t, err)
		for _, e := range entries {
			files[e.Name()], err = os.ReadFile(filepath.Join(dir, e.Name()))
			require.NoError(t, err)
		}
		require.Len(t, files, 7) // the list of them too
		if first == nil {
			first = files
		}
		for name := range files {
			assert.Truef(t, string(first[name]) == string(files[name]), "%s differs", name)
		}
		back, warnings, err := casefile.Read(filepath.Join(dir, CaseFile))
		require.NoError(t, err)
		assert.Empty(t, warnings)
		assert.Equal(t, casefile.SettleNone, back.Settle.How)
		f, err := os.Open(filepath.Join(dir, UpperLabelsFile))
		require.NoError(t, err)
		labels, err := dentition.ReadLabels(UpperLabelsFile, f, dentition.Upper, c.Upper.Mesh.NumVertices())
		require.NoError(t, err)
		require.NoError(t, f.Close())
		assert.Len(t, labels.Teeth(), 14)
	}
}
