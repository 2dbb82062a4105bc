package serve_test

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/cli"
	"github.com/cusptrace/cusptrace/internal/serve"
	"github.com/cusptrace/cusptrace/internal/testcase"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"gonum.org/v1/gonum/spatial/r3"
)

// zipOf packs a folder.
func zipOf(t *testing.T, dir string) string {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	require.NoError(t, z.AddFS(os.DirFS(dir)))
	require.NoError(t, z.Close())
	return b.String()
}

// unpack writes the files of a zip into a folder and returns their content.
func unpack(t *testing.T, data []byte, dir string) map[string]string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	out := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		b, err := io.ReadAll(r)
		require.NoError(t, err)
		require.True(t, filepath.IsLocal(f.Name))
		path := filepath.Join(dir, f.Name)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
		require.NoError(t, os.WriteFile(path, b, 0o600))
		out[f.Name] = string(b)
	}
	return out
}

// smallCase is the small case in files, with short movements, a further scan of one arch, and 26 too high: it examines fast.
func smallCase(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	a := testcase.New(4)
	stop := a.Stops[testcase.Teeth+5] // from 17 on
	high, err := a.Upper.Transform(func(p r3.Vec) r3.Vec {
		p.Z -= 0.2 * max(0, 1-r3.Norm(r3.Sub(p, stop))/2)
		return p
	})
	require.NoError(t, err)
	a.Upper = high
	_, err = a.Write(dir, func(c *casefile.Case) {
		c.Excursions = c.Excursions[:1]
		c.Excursions[0].MaxMM, c.Excursions[0].StepMM = 1, 0.5
		c.Upper.Again = []string{"second.stl"}
	})
	require.NoError(t, err)
	scan, err := os.ReadFile(filepath.Join(dir, "upper.stl"))
	require.NoError(t, err)
	scan[0] ^= 1 // of the header: another file of the same surface
	require.NoError(t, os.WriteFile(filepath.Join(dir, "second.stl"), scan, 0o600))
	return dir
}

// again runs the command on a saved case and compares what it writes with what was saved below a folder; how many files.
func again(t *testing.T, dir string, files map[string]string, below string, args ...string) int {
	t.Helper()
	var stderr bytes.Buffer
	out := filepath.Join(dir, "again-"+below)
	require.Zero(t, cli.Run(context.Background(), append(args, "-o", out), nil, io.Discard, &stderr), stderr.String())
	compared := 0
	for name, content := range files {
		if base, ok := strings.CutPrefix(name, below+"/"); ok {
			got, err := os.ReadFile(filepath.Join(out, filepath.FromSlash(base)))
			require.NoError(t, err)
			require.True(t, content == string(got), "%s differs", name)
			compared++
		}
	}
	return compared
}

// A case that is opened, filled in, examined, tried and saved gives the command the same bytes, all of them; and
// opened again it is the same case.
func TestSavedCaseGivesTheSameBytes(t *testing.T) {
	b := start(t, serve.Options{Version: "(devel)", Samples: 2})
	b.give([2]string{"small.zip", zipOf(t, smallCase(t))})
	_, stage := b.stage()
	require.Equal(t, "case", stage, b.page())
	b.press("tooth 26", "name", "second <visit>", "foil", "12", "brush", "holds")
	b.press("tooth 36", "name", "second <visit>", "foil", "12", "brush", "passes")
	b.press("tooth 36", "name", "second <visit>", "foil", "12", "brush", "restore")
	require.Contains(t, b.page(), "second &lt;visit&gt;")
	b.press("examine", "name", "second <visit>", "foil", "12", "marks-right", "13/43 14/44")
	_, stage = b.stage()
	require.Equal(t, "report", stage, b.page())

	r := b.ask("GET", "/report.html", nil, nil)
	require.Equal(t, 200, r.StatusCode)
	require.Contains(t, r.Header.Get("Content-Security-Policy"), "sandbox allow-scripts")
	require.NotContains(t, r.Header.Get("Content-Security-Policy"), "allow-same-origin")

	tryTreatment(t, b)

	r = b.ask("GET", "/case.zip", nil, nil)
	require.Equal(t, 200, r.StatusCode)
	saved, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	dir := t.TempDir()
	files := unpack(t, saved, dir)
	require.Contains(t, files["case.yaml"], "foil_um: 12")
	require.Contains(t, files["case.yaml"], `restore: ["36"]`)
	require.Contains(t, files["case.yaml"], "13/43")
	require.NotContains(t, files["case.yaml"], "trial:")
	require.Contains(t, files["trial.yaml"], "trial:")
	require.Contains(t, files, "upper.again-1.stl")
	require.Contains(t, files, "trial/guide-table.stl")
	require.Contains(t, files["trial/report.html"], `href="before/report.html"`)
	require.Greater(t, again(t, dir, files, "results", "examine", filepath.Join(dir, "case.yaml"), "--samples", "2"), 10)
	_, flags, ok := strings.Cut(b.page(), "cusptrace trial trial.yaml -o again ")
	require.True(t, ok)
	flags, _, _ = strings.Cut(flags, "<")
	args := append([]string{"trial", filepath.Join(dir, "trial.yaml"), "--samples", "2"}, strings.Fields(flags)...)
	require.Greater(t, again(t, dir, files, "trial", args...), 20)

	// A form from before is refused, and changes nothing.
	rev, _ := b.stage()
	b.send("0", "new")
	now, stage := b.stage()
	require.Equal(t, rev, now)
	require.Equal(t, "report", stage)

	b.press("change")
	_, stage = b.stage()
	require.Equal(t, "case", stage)
	require.Equal(t, 404, b.ask("GET", "/trial.html", nil, nil).StatusCode)
	b.press("new")
	b.give([2]string{"case.zip", string(saved)})
	_, stage = b.stage()
	require.Equal(t, "case", stage, b.page())
	r = b.ask("GET", "/case.zip", nil, nil)
	resaved, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	opened := unpack(t, resaved, t.TempDir())
	for name, content := range opened {
		require.True(t, files[name] == content, "%s differs", name)
	}
	require.Len(t, opened, 6)

	// The same from its folder, in which the results lie too.
	b.press("new")
	var folder [][2]string
	for name, content := range files {
		folder = append(folder, [2]string{"visits/second/" + name, content})
	}
	b.giveAs("folder", folder...)
	rev, stage = b.stage()
	require.Equal(t, "case", stage, b.page())
	var list struct {
		Rev   int
		Names []string
	}
	text, err := io.ReadAll(b.ask("GET", "/case.json", nil, nil).Body)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, &list))
	require.Equal(t, rev, strconv.Itoa(list.Rev))
	require.Len(t, list.Names, 6)
	for i, name := range list.Names {
		r := b.ask("GET", fmt.Sprintf("/case/%s/%d", rev, i), nil, nil)
		require.Equal(t, 200, r.StatusCode)
		got, err := io.ReadAll(r.Body)
		require.NoError(t, err)
		require.True(t, files[name] == string(got), "%s differs", name)
	}
	require.Equal(t, 404, b.ask("GET", "/case/"+rev+"/6", nil, nil).StatusCode)
	require.Equal(t, 404, b.ask("GET", "/case/0/0", nil, nil).StatusCode, "another revision")
	require.Equal(t, 6, count(t, b), "five files and the lock: the rest of the folder was not kept")
}

// A stopped examination leaves the case as it was, and ending the program while it runs leaves nothing.
func TestStop(t *testing.T) {
	b := start(t, serve.Options{})
	b.give([2]string{"small.zip", zipOf(t, smallCase(t))})
	rev, stage := b.stage()
	require.Equal(t, "case", stage)
	b.send(rev, "examine")
	b.send(rev, "examine") // a second click: stale
	b.send("", "stop")
	_, stage = b.stage()
	require.Equal(t, "case", stage)
	require.NoDirExists(t, filepath.Join(private(t, b), "results"))
	b.press("examine")
	require.NoError(t, b.s.Close())
	entries, err := os.ReadDir(b.temp)
	require.NoError(t, err)
	require.Empty(t, entries)
}

// scan is the text of a scan of the small case, in a unit.
func scan(t *testing.T, dir, jaw string, unit mesh.Unit) string {
	t.Helper()
	m, err := meshfile.ReadFile(filepath.Join(dir, jaw+".stl"), meshfile.ReadOptions{Unit: mesh.Millimetre})
	require.NoError(t, err)
	m, err = m.Transform(func(p r3.Vec) r3.Vec { return r3.Scale(1/unit.MM(), p) })
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, meshfile.WritePLY(&b, m, nil))
	return b.String()
}

// Files that are no pair of scans are refused with what is wrong, and others can be given.
func TestWrongFiles(t *testing.T) {
	dir := smallCase(t)
	b := start(t, serve.Options{})
	upper, lower := scan(t, dir, "upper", mesh.Millimetre), scan(t, dir, "lower", mesh.Millimetre)
	for _, c := range []struct {
		files [][2]string
		says  string
	}{
		{[][2]string{{"photo.jpg", "\xff\xd8\xff\xe0 a photo"}, {"lower.ply", lower}}, "photo.jpg"},
		{[][2]string{{"upper.ply", upper[:len(upper)/2]}, {"lower.ply", lower}}, "upper.ply"},
		{[][2]string{{"scan.zip", "PK\x03\x04 broken"}}, "scan.zip"},
		{[][2]string{{"scan.zip", zipOf(t, t.TempDir())}}, "scan.zip"},
		{[][2]string{{"a.zip", zipOf(t, dir)}, {"lower.ply", lower}}, "one saved case"},
	} {
		b.give(c.files...)
		_, stage := b.stage()
		require.Equal(t, "scans", stage, c.says)
		page := b.page()
		_, problem, ok := strings.Cut(page, `id="problem">`)
		require.True(t, ok, "%s: %s", c.says, page)
		problem, _, _ = strings.Cut(problem, "</p>")
		require.Contains(t, problem, c.says)
		require.NotContains(t, problem, private(t, b))
		require.Equal(t, 1, count(t, b), "nothing is left of %s", c.says)
	}
	// Metres: the unit is asked for and the one that fits is named.
	b.give([2]string{"upper.ply", scan(t, dir, "upper", mesh.Metre)}, [2]string{"lower.ply", scan(t, dir, "lower", mesh.Metre)})
	_, stage := b.stage()
	require.Equal(t, "unit", stage)
	require.Contains(t, b.page(), `value="m" checked`)
	b.press("unit", "unit", "m")
	// Strips of cusps are no arches: it is asked which is which.
	_, stage = b.stage()
	require.Equal(t, "jaws", stage)
	b.press("jaws", "upper", "0")
	_, stage = b.stage()
	require.Equal(t, "case", stage, b.page())
	b.press("new")
	require.Equal(t, 1, count(t, b))
}
