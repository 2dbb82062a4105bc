package findings_test

import (
	"encoding/json"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// An unknown movement is an error, on reading and on writing.
func TestUnknownMovementsAreErrors(t *testing.T) {
	var x findings.Excursion
	require.NoError(t, json.Unmarshal([]byte(`{"movement":"left"}`), &x))
	require.Equal(t, findings.Left, x.Movement)
	require.ErrorContains(t, json.Unmarshal([]byte(`{"movement":"lefft"}`), &x), `movement is "lefft"`)
	_, err := json.Marshal(findings.Excursion{Movement: "up"})
	require.ErrorContains(t, err, `movement is "up"`)
	_, err = findings.Closed.Kinematic()
	require.Error(t, err)
}
