package findings_test

import (
	"encoding/json"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
)

// A pose is written as its matrix and comes back; one that is not rigid is an error.
func TestPosesInFiles(t *testing.T) {
	p := findings.Pose{Pose: kinematics.RotationX(2 * s1.Degree)}
	b, err := json.Marshal(p)
	require.NoError(t, err)
	want, err := json.Marshal(p.Matrix())
	require.NoError(t, err)
	require.Equal(t, string(want), string(b))
	var read findings.Pose
	require.NoError(t, json.Unmarshal(b, &read))
	got, sent := read.Matrix(), p.Matrix()
	require.InDeltaSlice(t, sent[:], got[:], 1e-15)
	require.ErrorIs(t, json.Unmarshal([]byte("[2,0,0,0, 0,1,0,0, 0,0,1,0, 0,0,0,1]"), &read), kinematics.ErrNotRigid)
	require.Error(t, json.Unmarshal([]byte("[1,2]"), &read))
	require.Error(t, json.Unmarshal([]byte(`"rest"`), &read))
}
