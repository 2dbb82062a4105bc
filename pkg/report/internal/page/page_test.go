package page

import (
	"bytes"
	"compress/gzip"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/report/internal/picture"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// Without the built view the page carries the pictures, says how to get the view,
// and has no links into it.
func TestPageWithoutView(t *testing.T) {
	m, err := mesh.New([]r3.Vec{{}, {X: 1}, {Y: 1}}, [][3]mesh.VertexID{{0, 1, 2}})
	require.NoError(t, err)
	s := display.Surface{Mesh: m, Normals: make([]r3.Vec, 3), Scanned: 1}
	d := &display.Display{Upper: s, Lower: s, Outlines: display.Outlines{Moving: [][][]display.Outline{{nil, nil}}}}
	frame := findings.Frame{ClearanceMM: map[string]float64{"upper": 1}, Carrier: &findings.Touch{}}
	var text findings.Sentence
	require.NoError(t, text.UnmarshalJSON([]byte(`"a finding"`)))
	f := &findings.Findings{Excursions: []findings.Excursion{{Movement: "right", Frames: []findings.Frame{frame, frame},
		Findings: []findings.Finding{{Text: text}}}}}
	page := func(files fstest.MapFS) string {
		p, err := New(files, language.English(), f, d, "", []picture.Picture{{Name: "picture.png"}})
		require.NoError(t, err)
		html, err := p.Render()
		require.NoError(t, err)
		return string(html)
	}
	without := page(fstest.MapFS{})
	require.True(t, strings.Contains(without, "go generate ./pkg/report"))
	require.False(t, strings.Contains(without, `class="go"`))
	require.False(t, strings.Contains(without, "canvas id"))
	require.True(t, strings.Contains(without, "data:image/png;base64,"))
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	_, err = z.Write([]byte("//"))
	require.NoError(t, err)
	require.NoError(t, z.Close())
	with := page(fstest.MapFS{"dist/view.js.gz": {Data: packed.Bytes()}})
	require.False(t, strings.Contains(with, "go generate ./pkg/report"))
	require.True(t, strings.Contains(with, `class="go"`))
	require.True(t, strings.Contains(with, "canvas id"))
}

// Where a finding has a height, the page says that it is not an amount to grind.
func TestPageWarnsOfHeights(t *testing.T) {
	m, err := mesh.New([]r3.Vec{{}, {X: 1}, {Y: 1}}, [][3]mesh.VertexID{{0, 1, 2}})
	require.NoError(t, err)
	s := display.Surface{Mesh: m, Normals: make([]r3.Vec, 3), Scanned: 1}
	high := 120.0
	for _, height := range []*float64{nil, &high} {
		f := &findings.Findings{Excursions: []findings.Excursion{{Movement: "right", Findings: []findings.Finding{{HeightUm: height}}}}}
		p, err := New(fstest.MapFS{}, language.English(), f, &display.Display{Upper: s, Lower: s}, "", nil)
		require.NoError(t, err)
		html, err := p.Render()
		require.NoError(t, err)
		require.Equal(t, height != nil, strings.Contains(string(html), "not a reduction depth"))
	}
}

// A section that the page does not know shows its sentences, too, in the notation
// of the case.
func TestUnknownSectionsFollowTheNotation(t *testing.T) {
	y := findings.Yielding{Order: []findings.YieldStop{{Upper: 16, Lower: 46, FromN: 1}}}
	v := &struct {
		List []struct {
			Tooth findings.Part     `json:"tooth"`
			Text  findings.Sentence `json:"text"`
		} `json:"list"`
	}{}
	v.List = append(v.List, struct {
		Tooth findings.Part     `json:"tooth"`
		Text  findings.Sentence `json:"text"`
	}{16, y.Text()})
	require.Contains(t, y.Text().String(), "16/46")
	n, err := toNode(v)
	require.NoError(t, err)
	n.write(dentition.Universal, map[string]string{y.Text().String(): y.Text().In(dentition.Universal)})
	r := words.Reader{Language: language.English(), Notation: dentition.Universal}
	require.Equal(t, [][]string{{"3", y.Text().In(dentition.Universal)}}, tell(r, "", n.members).Tables[0].Rows)
	require.Contains(t, y.Text().In(dentition.Universal), "3/30")
}
