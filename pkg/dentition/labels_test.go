package dentition_test

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/faults"
	"github.com/cusptrace/cusptrace/internal/realcase"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

func readLabels(text string, jaw dentition.Jaw, vertices int) (*dentition.Labels, error) {
	return dentition.ReadLabels("l.json", strings.NewReader(text), jaw, vertices)
}

func TestReadLabels(t *testing.T) {
	for _, text := range []string{
		`{"jaw":"upper","labels":[0,11,21,55]}`,
		"{\n \"labels\" : [ 0 ,\n\t11,21\r\n, 55 ] ,\n \"numbering\": \"ISO 3950\", \"made_by\": {\"a\": [1, \"]\"]}, \"jaw\": \"upper\"\n}\n\n",
	} {
		l, err := readLabels(text, dentition.Upper, 4)
		require.NoError(t, err)
		require.Equal(t, dentition.Upper, l.Jaw())
		require.Equal(t, 4, l.NumVertices())
		require.Equal(t, []dentition.ToothID{11, 21, 55}, l.Teeth())
		require.Equal(t, dentition.NoTooth, l.Vertex(0))
		require.Equal(t, dentition.ToothID(21), l.Vertex(2))
	}
	l, err := readLabels(`{"jaw":"lower","labels":[]}`, dentition.Lower, 0)
	require.NoError(t, err)
	require.Empty(t, l.Teeth())
}

func TestLabelFaults(t *testing.T) {
	for _, c := range []struct {
		text string
		kind error
		want string
	}{
		{``, dentition.ErrLabelsFormat, "l.json:1:1: not a labels file: it ends too early"},
		{`[1]`, dentition.ErrLabelsFormat, `l.json:1:1: not a labels file: it must be an object {"jaw": …, "labels": […]}`},
		{`{"jaw":"upper","labels":[0,11`, dentition.ErrLabelsFormat, "l.json:1:25: not a labels file: it ends too early"},
		{`{"jaw":"upper","labels":[0,11,16]`, dentition.ErrLabelsFormat, "l.json:1:34: not a labels file: it ends too early"},
		{`{"jaw":"upper","labels":[0,11,16]} x`, dentition.ErrLabelsFormat, "l.json:1:36: not a labels file: something follows the object"},
		{`{"jaw":"upper"}`, dentition.ErrLabelsFormat, "l.json:1:1: labels: not a labels file: missing"},
		{`{"labels":[0,11,16]}`, dentition.ErrLabelsFormat, "l.json:1:1: jaw: not a labels file: missing"},
		{`{"jaw":"upper","labels":{"0":11}}`, dentition.ErrLabelsFormat,
			`l.json:1:25: labels: not a labels file: {"0":11}, must be a list of whole numbers`},
		{`{"jaw":"upper","labels":[0,11,16],"labels":[0,11,16]}`, dentition.ErrLabelsFormat,
			"l.json:1:44: labels: not a labels file: given twice"},
		{`{"jaw":"upper","numbering":"universal","labels":[0,11,16]}`, dentition.ErrLabelsFormat,
			`l.json:1:28: numbering: not a labels file: "universal", must be "ISO 3950"`},
		{`{"jaw":3,"labels":[0,11,16]}`, dentition.ErrJaw, `l.json:1:8: jaw: wrong jaw: 3, must be "upper"`},
		{`{"jaw":"lower","labels":[0,41,46]}`, dentition.ErrJaw,
			`l.json:1:8: jaw: wrong jaw: "lower", must be "upper"; are the two arches, or their labels, exchanged?`},
		{`{"jaw":"upper","labels":[0,11]}`, dentition.ErrLabelsCount,
			"l.json:1:25: labels: labels do not fit the scan: 2 labels, but the scan has 3 distinct vertices"},
		{`{"jaw":"upper","labels":[0,11,16,16]}`, dentition.ErrLabelsCount,
			"l.json:1:25: labels: labels do not fit the scan: 4 labels, but the scan has 3 distinct vertices"},
		{"{\"jaw\":\"upper\",\n\"labels\":[0,\n11,\n 19]}", dentition.ErrTooth,
			"l.json:4:2: labels[2]: not a tooth: 19, the permanent teeth of a quadrant are 11 to 18"},
		{`{"jaw":"upper","labels":[0,-1,16]}`, dentition.ErrTooth,
			"l.json:1:28: labels[1]: not a tooth: -1, must be two digits such as 16 (ISO 3950), or 0"},
		{`{"jaw":"upper","labels":[0,272,16]}`, dentition.ErrTooth,
			"l.json:1:28: labels[1]: not a tooth: 272, must be two digits such as 16 (ISO 3950), or 0"},
		{`{"jaw":"upper","labels":[0,46,16]}`, dentition.ErrJaw,
			"l.json:1:28: labels[1]: wrong jaw: 46 is a tooth of the lower jaw, must be one of the upper jaw or 0"},
		{`{"jaw":"upper","labels":[0,11.0,16]}`, dentition.ErrLabelsFormat,
			"l.json:1:28: labels[1]: not a labels file: 11.0, must be a whole number"},
		{`{"jaw":"upper","labels":["]",null,[1,{"a":2}]]}`, dentition.ErrLabelsFormat,
			"l.json:1:26: labels[0]: not a labels file: \"]\", must be a whole number\n" +
				"l.json:1:30: labels[1]: not a labels file: null, must be a whole number\n" +
				"l.json:1:35: labels[2]: not a labels file: [1,{\"a\":2}], must be a whole number"},
	} {
		l, err := readLabels(c.text, dentition.Upper, 3)
		require.EqualError(t, err, c.want, c.text)
		require.ErrorIs(t, err, c.kind, c.text)
		require.True(t, faults.In(err), c.text)
		require.Nil(t, l)
	}
}

func TestLabelFaultsAreCapped(t *testing.T) {
	text := `{"jaw":"upper","labels":[` + strings.Repeat("99,", 1000) + "0]}"
	_, err := readLabels(text, dentition.Upper, 1001)
	lines := strings.Split(err.Error(), "\n")
	require.Len(t, lines, faults.Most+1)
	require.Equal(t, "and 980 more", lines[faults.Most])
}

func TestLabelsReadError(t *testing.T) {
	broken := errors.New("broken")
	_, err := dentition.ReadLabels("l.json", iotest.ErrReader(broken), dentition.Upper, 3)
	require.ErrorIs(t, err, broken)
}

func TestNewLabels(t *testing.T) {
	given := []dentition.ToothID{0, 36, 36}
	l, err := dentition.NewLabels(dentition.Lower, given)
	require.NoError(t, err)
	given[0] = 99
	require.Equal(t, dentition.NoTooth, l.Vertex(0), "the slice is copied")
	_, err = dentition.NewLabels(dentition.Lower, given)
	require.ErrorIs(t, err, dentition.ErrTooth)
	require.ErrorContains(t, err, "labels[0]")
	_, err = dentition.NewLabels(dentition.Upper, []dentition.ToothID{36})
	require.ErrorIs(t, err, dentition.ErrJaw)
	_, err = dentition.NewLabels(0, nil)
	require.ErrorIs(t, err, dentition.ErrJaw)
}

func TestTriangleMajority(t *testing.T) {
	var verts []r3.Vec
	labels := []dentition.ToothID{0, 0, 16, 16, 15}
	for i := range labels {
		verts = append(verts, r3.Vec{X: float64(i), Y: float64(i * i)})
	}
	var tris [][3]mesh.VertexID
	var want []dentition.ToothID
	for a := range labels {
		for b := range labels {
			for c := range labels {
				tris = append(tris, [3]mesh.VertexID{mesh.VertexID(a), mesh.VertexID(b), mesh.VertexID(c)})
				n := map[dentition.ToothID]int{}
				for _, v := range []int{a, b, c} {
					n[labels[v]]++
				}
				winner := dentition.NoTooth
				for _, tooth := range []dentition.ToothID{16, 15} {
					if n[tooth] >= 2 {
						winner = tooth
					}
				}
				want = append(want, winner)
			}
		}
	}
	m, err := mesh.New(verts, tris)
	require.NoError(t, err)
	l, err := dentition.NewLabels(dentition.Upper, labels)
	require.NoError(t, err)
	got, err := l.Triangles(m)
	require.NoError(t, err)
	require.Equal(t, want, got)

	m, err = mesh.New(verts[:4], nil)
	require.NoError(t, err)
	_, err = l.Triangles(m)
	require.ErrorIs(t, err, dentition.ErrLabelsCount)
}

func TestWriteLabels(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for n := range 70 {
		labels := make([]dentition.ToothID, n)
		for i := range labels {
			labels[i] = []dentition.ToothID{0, 31, 38, 41, 85}[rng.IntN(5)]
		}
		l, err := dentition.NewLabels(dentition.Lower, labels)
		require.NoError(t, err)
		var b bytes.Buffer
		require.NoError(t, l.Write(&b))
		back, err := dentition.ReadLabels("l.json", &b, dentition.Lower, n)
		require.NoError(t, err)
		require.Equal(t, l.Teeth(), back.Teeth())
		for v := range labels {
			require.Equal(t, labels[v], back.Vertex(mesh.VertexID(v)))
		}
	}
}

func TestWriteLabelsError(t *testing.T) {
	l, err := dentition.NewLabels(dentition.Lower, make([]dentition.ToothID, 10000))
	require.NoError(t, err)
	require.Error(t, l.Write(failing{}))
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, errors.New("full") }

// The counts are those of the data's own description: 90,376 and 90,371
// vertices, teeth 17 to 27 but for 18 and 28, and 38 to 47.
func TestRealLabels(t *testing.T) {
	for _, c := range []struct {
		jaw   dentition.Jaw
		n     int
		teeth string
	}{
		{dentition.Upper, 90_376, "[11 12 13 14 15 16 17 21 22 23 24 25 26 27]"},
		{dentition.Lower, 90_371, "[31 32 33 34 35 36 37 38 41 42 43 44 45 46 47]"},
	} {
		data, err := os.ReadFile(realcase.Path(t, c.jaw.String()+".labels.json"))
		require.NoError(t, err)
		l, err := dentition.ReadLabels("l", bytes.NewReader(data), c.jaw, c.n)
		require.NoError(t, err)
		require.Equal(t, c.teeth, fmt.Sprint(l.Teeth()))
	}
}

func FuzzReadLabels(f *testing.F) {
	for _, s := range []string{`{"jaw":"upper","labels":[0,11,21]}`, `{"jaw":"upper","labels":["]",null,[1,{"a\"":2}]]}`,
		`{"labels":[1e1,-0,00]`, `{"jaw":"upper","labels":[]}`, `{"a":{`, ``} {
		f.Add(s, uint8(3))
	}
	f.Fuzz(func(t *testing.T, text string, n uint8) {
		l, err := readLabels(text, dentition.Upper, int(n))
		if err != nil {
			require.True(t, faults.In(err))
			return
		}
		require.Equal(t, int(n), l.NumVertices())
		for v := range int(n) {
			id := l.Vertex(mesh.VertexID(v))
			require.True(t, id == dentition.NoTooth || id.Valid() && id.Jaw() == dentition.Upper)
		}
	})
}

func BenchmarkReadLabels(b *testing.B) {
	text := `{"jaw":"upper","labels":[` + strings.Repeat("16,0,", 45_000) + `11]}`
	b.ReportAllocs()
	for b.Loop() {
		if l, err := readLabels(text, dentition.Upper, 90_001); err != nil || l.NumVertices() != 90_001 {
			b.Fatal(err)
		}
	}
}
