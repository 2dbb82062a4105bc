package casefile_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/faults"
	"github.com/cusptrace/cusptrace/pkg/casefile"
)

// FuzzParse reads texts of any kind. What is accepted has only values that the
// schema accepts, which are finite and in range, and reads back equal.
func FuzzParse(f *testing.F) {
	for _, text := range kinds(f) {
		f.Add([]byte(text))
		f.Add(toJSON(f, text))
	}
	for _, folder := range []string{"bad", "unusual"} {
		files, err := filepath.Glob(filepath.Join("testdata", folder, "*.yaml"))
		require.NoError(f, err)
		for _, file := range files {
			text, err := os.ReadFile(file)
			require.NoError(f, err)
			f.Add(text)
		}
	}
	s := schema(f)
	f.Fuzz(func(t *testing.T, text []byte) {
		c, _, err := casefile.Parse("c.yaml", text)
		if err != nil {
			require.Nil(t, c)
			require.True(t, faults.In(err))
			return
		}
		asJSON, err := json.Marshal(c)
		require.NoError(t, err)
		require.NoError(t, validate(t, s, asJSON))
		_, err = c.Check()
		require.NoError(t, err)
		require.Equal(t, c, parse(t, write(t, c)))
	})
}
