package findings_test

import (
	"encoding/json"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// A foil is a number in files, or a key, and comes back as it was.
func TestFoilsInFiles(t *testing.T) {
	for foil, want := range map[findings.Foil]string{8: "8", 12.5: "12.5", 4e-7: "4e-07"} {
		one := findings.Contact{FoilUm: foil}
		b, err := json.Marshal(one)
		require.NoError(t, err)
		require.Contains(t, string(b), `"foil_um":`+string(must(json.Marshal(foil.Um()))))
		var read findings.Contact
		require.NoError(t, json.Unmarshal(b, &read))
		require.Equal(t, foil, read.FoilUm)

		marks := map[findings.Foil]findings.FoilResult{foil: findings.FoilHolds}
		b, err = json.Marshal(marks)
		require.NoError(t, err)
		require.JSONEq(t, `{"`+want+`":"holds"}`, string(b))
		var back map[findings.Foil]findings.FoilResult
		require.NoError(t, json.Unmarshal(b, &back))
		require.Equal(t, marks, back)
	}
	require.Equal(t, 0.008, findings.Foil(8).MM())
	var f findings.Foil
	require.Error(t, json.Unmarshal([]byte(`[8]`), &f))
	require.ErrorContains(t, json.Unmarshal([]byte(`{"thin":"holds"}`), &map[findings.Foil]findings.FoilResult{}), `foil "thin"`)
}

func must(b []byte, err error) []byte {
	if err != nil {
		panic(err)
	}
	return b
}
