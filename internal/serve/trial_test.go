package serve_test

import (
	"io"
	"testing"

	"github.com/stretchr/testify/require"
)

// tryTreatment tries steps on an examined case: what the findings offer, wax of one's own choice and a guide table. What cannot be
// tried is said and changes nothing.
func tryTreatment(t *testing.T, b *browser) {
	t.Helper()
	require.Equal(t, 404, b.ask("GET", "/trial.html", nil, nil).StatusCode)
	require.Contains(t, b.page(), "Try reducing premature contacts")
	said := func(what string) {
		t.Helper()
		b.stage()
		require.Contains(t, b.page(), `id="problem"`)
		require.Contains(t, b.page(), what)
		require.NotContains(t, b.page(), `src="/trial.html"`)
	}
	b.press("try")
	said("Choose at least one step")
	b.press("try", "step", "99")
	said("Choose at least one step")
	b.press("try", "step", "0", "table", "yes", "pin", "", "pin-radius", "1")
	said("Where is the ball of the pin?")
	b.press("try", "step", "0", "table", "yes", "pin", "0, -60, 0", "pin-radius", "wide")
	said("Radius of the ball: wide is no number")
	wax := func(tooth, movement, form, deg, other string) {
		b.press("wax", "wax-tooth", tooth, "wax-movement", movement, "wax-form", form, "wax-deg", deg, "wax-other", other)
	}
	for _, c := range [][6]string{
		{"99", "right", "inclination", "45", "", "99"},
		{"13", "upwards", "inclination", "45", "", "upwards"},
		{"13", "right", "inclination", "steep", "", "Inclination: steep is no number"},
		{"13", "right", "inclination", "80", "", "80"},
		{"13", "right", "share", "", "43", "must be another tooth of the same arch as 13"},
		{"13", "right", "share", "", "x", "x"},
	} {
		wax(c[0], c[1], c[2], c[3], c[4])
		said(c[5])
	}
	for _, c := range [][6]string{
		{"13", "right", "share", "", "14", "Wax 13 to share the guidance in right lateral movement with 14"},
		{"13", "right", "as", "", "", "Wax 13 to guide in right lateral movement as 23 does"},
		{"11", "", "mirror", "", "", "Wax 11 to the mirrored form of 21"},
		{"13", "right", "inclination", "41,5", "", "Wax 13 to guide in right lateral movement at 41.5°"},
	} {
		wax(c[0], c[1], c[2], c[3], c[4])
		require.Contains(t, b.page(), c[5])
		require.NotContains(t, b.page(), `id="problem"`)
	}

	b.press("try", "step", "0", "table", "yes", "pin", "0, -60, 0", "pin-radius", "1,5")
	_, stage := b.stage()
	require.Equal(t, "report", stage)
	require.NotContains(t, b.page(), `id="problem"`)
	for _, path := range []string{"/trial.html", "/trial-before.html", "/trial-after.html"} {
		r := b.ask("GET", path, nil, nil)
		require.Equal(t, 200, r.StatusCode, path)
		require.Contains(t, r.Header.Get("Content-Security-Policy"), "sandbox allow-scripts")
		text, err := io.ReadAll(r.Body)
		require.NoError(t, err)
		require.Contains(t, string(text), "<!DOCTYPE html>")
		require.NotContains(t, string(text), "/report.html", "links that lead nowhere in the sandbox")
	}
}
