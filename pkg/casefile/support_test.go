package casefile_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// Healthy teeth give as published: the free phase ends at 3 to 4 N (Picton 1963, Arch
// Oral Biol 8:109-118), after 10 to 30 µm (Parfitt 1960), 25 to 100 µm under bite
// (textbooks) and 50 to 150 µm across at 5 N (Mühlemann 1960; all but the first from
// memory). The springs go through these values.
func TestDefaultSupportInRange(t *testing.T) {
	s := casefile.DefaultSupport()
	force := func(k casefile.Spring, mm float64) float64 { return k.Soft*min(mm, k.Free) + k.Firm*max(0, mm-k.Free) }
	for tooth, want := range map[dentition.ToothID]casefile.ToothSupport{
		11: s.Incisor, 42: s.Incisor, 23: s.Canine, 14: s.Premolar, 35: s.Premolar, 16: s.Molar, 48: s.Molar, 51: s.Incisor,
		63: s.Canine, 74: s.Molar, 85: s.Molar,
	} {
		axial, lateral := s.Springs(tooth.Type())
		require.InDelta(t, 3.5, force(axial, want.AxialFreeUm/1000), 1e-9)
		require.InDelta(t, 50, force(axial, want.Axial50NUm/1000), 1e-9)
		require.InDelta(t, 1, force(lateral, want.LateralFreeUm/1000), 1e-9)
		require.InDelta(t, 5, force(lateral, want.Lateral5NUm/1000), 1e-9)
		for _, k := range []casefile.Spring{axial, lateral} {
			require.Greater(t, k.Firm, k.Soft)
		}
		require.True(t, want.AxialFreeUm >= 10 && want.AxialFreeUm <= 30)
		require.True(t, want.Axial50NUm >= 25 && want.Axial50NUm <= 100)
		require.True(t, want.Lateral5NUm >= 50 && want.Lateral5NUm <= 150)
	}
	require.True(t, s.AxialFreeN >= 3 && s.AxialFreeN <= 4)
}

// Every number of the support is listed with its source, published ones apart from our
// choices, and what the case changes is marked.
func TestSupportValues(t *testing.T) {
	s := parse(t, scans+"support: {molar: {axial_50n_um: 60}}\n").Support
	values := s.Values()
	require.Len(t, values, 2+4*4)
	status := map[string]string{}
	for _, v := range values {
		require.NotEmpty(t, v.Source, v.Key)
		require.Positive(t, v.Value)
		status[v.Key] = v.Status
	}
	require.Len(t, status, len(values))
	for key, want := range map[string]string{"axial_free_n": casefile.FromLiterature, "molar.axial_50n_um": casefile.FromCase} {
		require.Equal(t, want, status[key], key)
		delete(status, key)
	}
	for key, got := range status {
		require.Equal(t, casefile.OurChoice, got, key)
	}
	require.Equal(t, "molar.axial_50n_um", values[15].Key)
	require.Equal(t, 60.0, values[15].Value)
}
