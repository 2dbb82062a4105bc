package serve_test

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/serve"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/cusptrace/cusptrace/pkg/segment"
)

type shownArch struct {
	Vertices, Triangles int
	Given               bool
	Teeth               []struct {
		Number     int
		Code, Sure string
	}
	All      []struct{ Code, Name string }
	teeth    []byte
	position [][3]float32
}

// shown is what the 3D view gets.
func shown(t *testing.T, b *browser) (upper, lower shownArch) {
	t.Helper()
	r := b.ask("GET", "/casts", nil, nil)
	require.Equal(t, 200, r.StatusCode)
	data, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	n := int(binary.LittleEndian.Uint32(data))
	require.Zero(t, n%4)
	var head struct{ Upper, Lower shownArch }
	require.NoError(t, json.Unmarshal(data[4:4+n], &head))
	data = data[4+n:]
	for _, a := range []*shownArch{&head.Upper, &head.Lower} {
		for i := range a.Vertices {
			var p [3]float32
			for k := range p {
				p[k] = math.Float32frombits(binary.LittleEndian.Uint32(data[12*i+4*k:]))
			}
			a.position = append(a.position, p)
		}
		data = data[12*a.Vertices:]
		for i := range 3 * a.Triangles {
			require.Less(t, int(binary.LittleEndian.Uint32(data[4*i:])), a.Vertices)
		}
		data = data[12*a.Triangles+3*a.Vertices:]
		a.teeth, data = data[:a.Vertices], data[a.Vertices:]
	}
	require.Empty(t, data)
	return head.Upper, head.Lower
}

// dentitionScans writes a synthetic dentition.
func dentitionScans(t *testing.T) string {
	t.Helper()
	made, err := typodont.Generate(context.Background(), typodont.Params{Triangles: 20000})
	require.NoError(t, err)
	dir := t.TempDir()
	require.NoError(t, made.WriteDir(dir))
	return dir
}

// giveScans gives the two scans of a folder.
func (b *browser) giveScans(dir string) {
	b.t.Helper()
	var files [2][2]string
	for i, name := range []string{"upper.stl", "lower.stl"} {
		text, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(b.t, err)
		files[i] = [2]string{name, string(text)}
	}
	b.give(files[:]...)
}

// A tooth that is corrected in the page is what the command finds with the same correction, on every
// vertex, and is taken back; a contradiction is refused and changes nothing.
func TestCorrectTeeth(t *testing.T) {
	dir := dentitionScans(t)
	b := start(t, serve.Options{})
	require.Equal(t, 404, b.ask("GET", "/casts", nil, nil).StatusCode)
	b.giveScans(dir)
	_, stage := b.stage()
	require.Equal(t, "case", stage, b.page())
	upper, lower := shown(t, b)
	require.Len(t, upper.Teeth, 14)
	require.Len(t, lower.Teeth, 14)
	require.Len(t, upper.All, 16)
	mountingPoints(t, b)

	code := func(a shownArch, number int) bool {
		for _, t := range a.Teeth {
			if t.Number == number {
				return true
			}
		}
		return false
	}
	var at [3]float32 // a point of 17, the highest
	for i, p := range upper.position {
		if upper.teeth[i] == 17 && (at == [3]float32{} || p[2] < at[2]) {
			at = p
		}
	}
	eighteen := fmt.Sprintf("18=%.2f,%.2f,%.2f", at[0], at[1], at[2])
	b.press("correct upper " + eighteen)
	b.stage()
	b.press("correct lower 46+47=46")
	b.stage()
	upper, lower = shown(t, b)
	require.True(t, code(upper, 18), "%v", upper.Teeth)
	require.False(t, code(upper, 17))
	require.False(t, code(lower, 47))
	require.Contains(t, b.page(), "46&#43;47=46")

	// What is saved is what the command would write.
	r := b.ask("GET", "/case.zip", nil, nil)
	saved, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	files := unpack(t, saved, t.TempDir())
	raw, err := meshfile.ReadFile(filepath.Join(dir, "upper.stl"), meshfile.ReadOptions{Unit: mesh.Millimetre})
	require.NoError(t, err)
	m, _ := mesh.Weld(raw, 0)
	var o segment.Options
	require.NoError(t, o.Say(eighteen))
	found, err := segment.Find(context.Background(), m, dentition.Upper, o)
	require.NoError(t, err)
	var text strings.Builder
	require.NoError(t, found.Labels.Write(&text))
	require.Equal(t, text.String(), files["upper.labels.json"])

	// A contradiction is said; what was there stays.
	b.press("correct upper 14=12")
	b.stage()
	require.Contains(t, b.page(), "cannot be followed")
	upper, _ = shown(t, b)
	require.True(t, code(upper, 18))
	b.press("correct upper nonsense")
	b.stage()
	require.Contains(t, b.page(), `id="problem"`)

	b.press("undo")
	b.stage()
	_, lower = shown(t, b)
	require.True(t, code(lower, 47), "the last one first")
	b.press("undo")
	b.stage()
	upper, _ = shown(t, b)
	require.True(t, code(upper, 17))
	require.NotContains(t, b.page(), `value="undo"`)

	// Labels that came with a case are left alone until they are found anew.
	b.press("new")
	b.give([2]string{"case.zip", string(saved)})
	b.stage()
	upper, _ = shown(t, b)
	require.True(t, upper.Given)
	require.True(t, code(upper, 18))
	b.press("correct upper 14=15")
	b.stage()
	b.press("anew upper")
	b.stage()
	upper, _ = shown(t, b)
	require.False(t, upper.Given)
	require.True(t, code(upper, 17))
}
