package findings_test

import (
	"encoding/json"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// The codes of one mouth in three notations: 16 is the third tooth of universal
// numbering, counted from 18 (charts of the American Dental Association).
func TestSentencesInNotations(t *testing.T) {
	s := findings.Say("%s carries %.1f mm, %s; 16 µm", findings.Pair{Upper: 16, Lower: 46}, 1.6, findings.List(", ", []findings.Part{26, 0, 55}))
	require.Equal(t, "16/46 carries 1.6 mm, 26, –, 55; 16 µm", s.String())
	require.Equal(t, "3/30 carries 1.6 mm, 14, –, A; 16 µm", s.In(dentition.Universal))
	require.Equal(t, "6┘/6┐ carries 1.6 mm, └6, –, E┘; 16 µm", s.In(dentition.Quadrant))
	require.Equal(t, "so 3/30 carries 1.6 mm, 14, –, A; 16 µm", findings.Say("so %s", s).In(dentition.Universal))
	require.Empty(t, findings.Sentence{}.In(dentition.Universal))

	// Files keep ISO 3950.
	b, err := json.Marshal(s)
	require.NoError(t, err)
	require.JSONEq(t, `"16/46 carries 1.6 mm, 26, –, 55; 16 µm"`, string(b))
	var read findings.Sentence
	require.NoError(t, json.Unmarshal(b, &read))
	require.Equal(t, s.String(), read.String())
	require.Error(t, json.Unmarshal([]byte("16"), &read))
	b, err = json.Marshal(struct {
		S findings.Sentence `json:"s,omitzero"`
	}{})
	require.NoError(t, err)
	require.Equal(t, "{}", string(b))
}

func TestPairsInWords(t *testing.T) {
	require.Equal(t, "3/30", findings.PairIn(dentition.Universal, 16, 46))
	require.Equal(t, "–/47", findings.PairIn(dentition.ISO, 0, 47))
	require.Equal(t, "an unlabelled place", findings.PairIn(dentition.ISO, 0, 0))
}
