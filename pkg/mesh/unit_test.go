package mesh_test

import (
	"encoding/json"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
)

func TestUnitNames(t *testing.T) {
	for name, want := range map[string]mesh.Unit{"mm": mesh.Millimetre, "cm": mesh.Centimetre, "m": mesh.Metre,
		"inch": mesh.Inch, "in": mesh.Inch, "um": mesh.Micrometre, "µm": mesh.Micrometre, "μm": mesh.Micrometre} {
		got, err := mesh.ParseUnit(name)
		require.NoError(t, err)
		require.Equal(t, want, got)
		again, err := mesh.ParseUnit(got.String())
		require.NoError(t, err)
		require.Equal(t, want, again)
	}
	for _, name := range []string{"", "MM", "feet", "unknown unit 0"} {
		_, err := mesh.ParseUnit(name)
		require.ErrorIs(t, err, mesh.ErrUnit)
	}
	_, err := mesh.ParseUnit("millimeter")
	require.EqualError(t, err, `unit of length: found "millimeter", expected mm, cm, m, inch, um`)
	require.Zero(t, mesh.UnitUnknown.MM())

	var both struct{ A, B mesh.Unit }
	require.NoError(t, json.Unmarshal([]byte(`{"A": "inch", "B": "um"}`), &both))
	require.Equal(t, mesh.Inch, both.A)
	data, err := json.Marshal(both)
	require.NoError(t, err)
	require.Equal(t, `{"A":"inch","B":"um"}`, string(data))
	_, err = json.Marshal(mesh.UnitUnknown)
	require.ErrorIs(t, err, mesh.ErrUnit)
}
