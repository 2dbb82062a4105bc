package serve_test

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/serve"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
)

// saved is the case as it would be saved.
func saved(t *testing.T, b *browser) (*casefile.Case, map[string]string) {
	t.Helper()
	r := b.ask("GET", "/case.zip", nil, nil)
	data, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	require.Equal(t, 200, r.StatusCode, "%s", data)
	dir := t.TempDir()
	files := unpack(t, data, dir)
	c, _, err := casefile.Read(filepath.Join(dir, "case.yaml"))
	require.NoError(t, err)
	return c, files
}

// Mounting and settings are entered as they are typed; a mistake is said and changes nothing.
func TestMounting(t *testing.T) {
	b := start(t, serve.Options{})
	b.give([2]string{"small.zip", zipOf(t, smallCase(t))})
	_, stage := b.stage()
	require.Equal(t, "case", stage)
	before, _ := saved(t, b)

	b.press("keep", "inclination_right", "41,5", "shift_left", "0.4", "balkwill", "20", "reference_plane", "camper",
		"at-incisal", "0, -80, -30", "at-right", "-25 -40 -30", "at-left", "25; -40; -30")
	c, _ := saved(t, b)
	require.InDelta(t, 41.5, c.Settings.Right.CondylarInclinationDeg, 0)
	require.InDelta(t, 0.4, c.Settings.Left.ImmediateSideShiftMM, 0)
	require.InDelta(t, 20, c.Mount.Average.BalkwillDeg, 0)
	require.Equal(t, casefile.CamperPlane, c.Settings.ReferencePlane)
	require.Equal(t, casefile.Point{25, -40, -30}, *c.Mount.Average.LeftMolar)
	require.Equal(t, before.Excursions, c.Excursions, "what the page does not show stays")

	for _, wrong := range [][]string{
		{"inclination_right", "steep"}, {"inclination_right", "NaN"}, {"inclination_right", "400"}, {"reference_plane", "tilted"},
		{"at-incisal", "0, -80", "at-right", "-25 -40 -30", "at-left", "25; -40; -30"},
		{"at-incisal", "", "at-right", "-25 -40 -30", "at-left", "25; -40; -30"},
		{"condyle_to_incisal", "52"}, // less than half of the intercondylar distance
	} {
		b.press("keep", wrong...)
		require.Contains(t, b.page(), `id="problem"`, wrong)
		now, _ := saved(t, b)
		require.Equal(t, c.Settings, now.Settings)
		require.Equal(t, c.Mount, now.Mount)
	}

	b.press("mount", "mount", "recorded")
	require.Contains(t, b.page(), `name="at-right_condyle"`)
	b.press("keep", "mount", "recorded", "at-right_condyle", "-52, 0, 0", "at-left_condyle", "52, 0, 0", "at-reference", "0, -90, 0")
	_, problem, _ := strings.Cut(b.page(), `id="problem">`)
	require.Empty(t, problem)
	c, _ = saved(t, b)
	require.Equal(t, casefile.Point{52, 0, 0}, c.Mount.Recorded.LeftCondyle)
	b.press("mount", "mount", "average")
	c, _ = saved(t, b)
	require.InDelta(t, 20, c.Mount.Average.BalkwillDeg, 0, "what was entered before is not lost")
}

// mountingPoints checks that points that were found on the teeth are shown; the case names them only where others are given.
func mountingPoints(t *testing.T, b *browser) {
	t.Helper()
	at := map[string]string{}
	for _, name := range []string{"at-incisal", "at-right", "at-left"} {
		m := fieldValue(name).FindStringSubmatch(b.page())
		require.NotNil(t, m, name)
		at[name] = m[1]
	}
	b.press("keep", "at-incisal", at["at-incisal"], "at-right", at["at-right"], "at-left", at["at-left"])
	c, _ := saved(t, b)
	require.Nil(t, c.Mount.Average.IncisalPoint)
	b.press("keep", "at-incisal", "0, -80, -30", "at-right", at["at-right"], "at-left", at["at-left"])
	c, _ = saved(t, b)
	require.Equal(t, casefile.Point{0, -80, -30}, *c.Mount.Average.IncisalPoint)
	require.NotNil(t, c.Mount.Average.LeftMolar)
}

// Two loose arches are put together as they were built, are taken apart again, and stay as they were
// where it cannot be done.
func TestPutTogether(t *testing.T) {
	if testing.Short() {
		t.Skip("the search takes long")
	}
	dir := dentitionScans(t)
	path := filepath.Join(dir, "lower.stl")
	read := func(path string) *mesh.Mesh {
		m, err := meshfile.ReadFile(path, meshfile.ReadOptions{Unit: mesh.Millimetre})
		require.NoError(t, err)
		return m
	}
	built := read(path)
	move := kinematics.Rotation(r3.Vec{X: 0.3, Y: -0.5, Z: 0.8}, 70*s1.Degree).Then(kinematics.Translation(r3.Vec{X: 40, Y: -60, Z: 25}))
	moved, err := built.Transform(move.Apply)
	require.NoError(t, err)
	var text bytes.Buffer
	require.NoError(t, meshfile.WriteSTL(&text, moved))
	require.NoError(t, os.WriteFile(path, text.Bytes(), 0o600))

	b := start(t, serve.Options{})
	b.giveScans(dir)
	b.stage()
	require.Contains(t, b.page(), "not in intercuspation")
	b.press("keep", "pair-upper-1", "0, 0, 900", "pair-lower-1", "0, 0, -900")
	b.press("together", "pair-upper-1", "0, 0, 900", "pair-lower-1", "0, 0, -900")
	b.stage()
	require.Contains(t, b.page(), "could not be put together")
	b.press("together", "pair-upper-1", "", "pair-lower-1", "")
	b.stage()
	page := b.page()
	require.Contains(t, page, "The arches were put together")
	require.NotContains(t, page, "not in intercuspation")
	c, files := saved(t, b)
	require.NotNil(t, c.Mount.Average.IncisalPoint)
	again := filepath.Join(t.TempDir(), "lower.ply")
	require.NoError(t, os.WriteFile(again, []byte(files[c.Lower.Scan]), 0o600))
	got, _ := mesh.Weld(read(again), 0)
	want, _ := mesh.Weld(built, 0)
	require.Equal(t, want.NumVertices(), got.NumVertices())
	for v := range want.NumVertices() {
		require.Less(t, r3.Norm(r3.Sub(want.Vertex(mesh.VertexID(v)), got.Vertex(mesh.VertexID(v)))), 0.3, "0.1 mm at the teeth, as by hand")
	}
	b.press("apart")
	b.stage()
	require.Contains(t, b.page(), "not in intercuspation")
	c, _ = saved(t, b)
	require.Nil(t, c.Mount.Average.IncisalPoint)
	require.Empty(t, c.Lower.Labels)
}
