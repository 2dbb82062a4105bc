package segment

import (
	"bufio"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// The real scans are intraoral scans of persons whose faces their annotators coloured by
// tooth. They carry no licence and are no part of the project: CUSPTRACE_REALSCANS names a
// folder that has them as NNN_U.ply and NNN_L.ply, CUSPTRACE_PERSONS the first and the last
// person, as in 31-50. CUSPTRACE_SUBDIVIDED parts every triangle so many times into four, CUSPTRACE_TURNED is
// the seed of a random rotation and shift of every scan.
var annotators = map[dentition.Jaw]map[int]dentition.ToothID{
	dentition.Upper: {0xff0000: 11, 0x0000ff: 12, 0x00ff00: 13, 0xffff00: 14, 0x00ffff: 15, 0xff00ff: 16, 0x1e90ff: 17, 0x00ff7f: 18,
		0x7fff00: 21, 0xfff68f: 22, 0x3cb371: 23, 0xff6a6a: 24, 0x836fff: 25, 0xffd39b: 26, 0xff6347: 27, 0x9b30ff: 28, 0xffffff: 0},
	dentition.Lower: {0xff3030: 31, 0x00bfff: 32, 0xffa500: 33, 0xcaff70: 34, 0xc8ffff: 35, 0xffe4ff: 36, 0xff9bff: 37, 0xff4500: 38,
		0x8b0000: 41, 0x90ee90: 42, 0x008b8b: 43, 0x00008b: 44, 0x8b008b: 45, 0xff69b4: 46, 0xe6e6fa: 47, 0xffe4b5: 48, 0xffffff: 0},
}

// readAnnotated reads an ASCII PLY with coloured faces.
func readAnnotated(t *testing.T, path string, jaw dentition.Jaw) (*mesh.Mesh, []dentition.ToothID) {
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	in := bufio.NewScanner(f)
	in.Buffer(nil, 1<<20)
	var nv, nf int
	for in.Scan() && in.Text() != "end_header" {
		w := strings.Fields(in.Text())
		if len(w) == 3 && w[0] == "element" {
			n, err := strconv.Atoi(w[2])
			require.NoError(t, err)
			if w[1] == "vertex" {
				nv = n
			} else {
				nf = n
			}
		}
	}
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		return v
	}
	verts, tris, teeth := make([]r3.Vec, nv), make([][3]mesh.VertexID, nf), make([]dentition.ToothID, nf)
	for i := range verts {
		in.Scan()
		w := strings.Fields(in.Text())
		verts[i] = r3.Vec{X: number(w[0]), Y: number(w[1]), Z: number(w[2])}
	}
	for i := range tris {
		in.Scan()
		w := strings.Fields(in.Text())
		for k := range 3 {
			tris[i][k] = mesh.VertexID(number(w[k+1]))
		}
		least := math.Inf(1)
		for rgb, tooth := range annotators[jaw] { // the nearest colour: some files are off by a few steps
			d := math.Abs(number(w[4])-float64(rgb>>16)) + math.Abs(number(w[5])-float64(rgb>>8&255)) + math.Abs(number(w[6])-float64(rgb&255))
			if d < least || d == least && tooth < teeth[i] {
				least, teeth[i] = d, tooth
			}
		}
	}
	require.NoError(t, in.Err())
	m, err := mesh.New(verts, tris)
	require.NoError(t, err)
	return m, teeth
}

func persons(t *testing.T) (dir string, first, last int) {
	dir = os.Getenv("CUSPTRACE_REALSCANS")
	if dir == "" {
		t.Skip("CUSPTRACE_REALSCANS names no folder of real scans")
	}
	first, last = 1, 999
	if s := os.Getenv("CUSPTRACE_PERSONS"); s != "" {
		_, err := fmt.Sscanf(s, "%d-%d", &first, &last)
		require.NoError(t, err)
	}
	return dir, first, last
}

// disturbed is a scan as the environment asks for it, subdivided and turned; n is the person's number.
func disturbed(t *testing.T, m *mesh.Mesh, truth []dentition.ToothID, n int) (*mesh.Mesh, []dentition.ToothID) {
	number := func(name string) int {
		s := os.Getenv(name)
		if s == "" {
			return 0
		}
		v, err := strconv.Atoi(s)
		require.NoError(t, err, name)
		return v
	}
	for range number("CUSPTRACE_SUBDIVIDED") {
		m = subdivided(t, m)
		var finer []dentition.ToothID
		for _, tooth := range truth {
			finer = append(finer, tooth, tooth, tooth, tooth)
		}
		truth = finer
	}
	if seed := number("CUSPTRACE_TURNED"); seed != 0 {
		var err error
		m, err = m.Transform(anyMotion(rand.New(rand.NewPCG(uint64(seed), uint64(n)))))
		require.NoError(t, err)
	}
	return m, truth
}

// comparison is what of an arch was found.
type comparison struct {
	ok          map[dentition.ToothID]bool // overlapping by half and more
	lost, extra []string
	invented    int // found where there are none or elsewhere
	same        int // triangles
}

// compare holds the teeth of triangles against the truth; teeth of at most few do not count.
func compare(got, truth []dentition.ToothID, few int) comparison {
	c := comparison{ok: map[dentition.ToothID]bool{}}
	both, either := map[dentition.ToothID]int{}, map[dentition.ToothID]int{}
	size, found := map[dentition.ToothID]int{}, map[dentition.ToothID]int{}
	for i, w := range truth {
		size[w], found[got[i]], either[w] = size[w]+1, found[got[i]]+1, either[w]+1
		if got[i] != w {
			either[got[i]]++
			continue
		}
		both[w], c.same = both[w]+1, c.same+1
	}
	for tooth := range dentition.All {
		switch {
		case size[tooth] > few && 2*both[tooth] >= either[tooth]:
			c.ok[tooth] = true
		case size[tooth] > few:
			c.lost = append(c.lost, fmt.Sprintf("%v(%.2f)", tooth, float64(both[tooth])/float64(either[tooth])))
			if found[tooth] > few {
				c.invented++
			}
		case found[tooth] > few:
			c.invented++
			c.extra = append(c.extra, tooth.String())
		}
	}
	return c
}

// TestRealScans counts on persons' scans what is found. An arch is right when every annotated
// tooth (of more than 60 triangles) shares half of its surface with the tooth of its number
// (intersection over union) and no other is found.
func TestRealScans(t *testing.T) {
	dir, first, last := persons(t)
	files, err := filepath.Glob(filepath.Join(dir, "*_[UL].ply"))
	require.NoError(t, err)
	var arches, right, refused, hits, missed, invented, flaggedWrong, flaggedRight int
	var called, calledRight [10]int // by tenths of confidence
	var faces []float64
	for _, path := range files {
		name := strings.TrimSuffix(filepath.Base(path), ".ply")
		n, err := strconv.Atoi(name[:3])
		if err != nil || n < first || n > last {
			continue
		}
		jaw := dentition.Upper
		if strings.HasSuffix(name, "L") {
			jaw = dentition.Lower
		}
		m, truth := readAnnotated(t, path, jaw)
		coarse := len(truth)
		m, truth = disturbed(t, m, truth, n)
		few := 60 * len(truth) / coarse
		arches++
		r, err := Find(context.Background(), m, jaw, Options{})
		if err != nil {
			refused++
			t.Logf("%s refused: %v", name, err)
			continue
		}
		got, err := r.Labels.Triangles(m)
		require.NoError(t, err)
		c := compare(got, truth, few)
		hits, missed, invented = hits+len(c.ok), missed+len(c.lost), invented+c.invented
		least := 1.0
		for _, f := range r.Teeth {
			least = min(least, f.Confidence)
			tenth := min(int(10*f.Confidence), 9)
			called[tenth]++
			if c.ok[f.Tooth] {
				calledRight[tenth]++
			}
		}
		switch flagged := len(r.Doubts) > 0; {
		case len(c.lost)+len(c.extra) == 0:
			right++
			if flagged {
				flaggedRight++
			}
		case flagged:
			flaggedWrong++
		}
		faces = append(faces, float64(c.same)/float64(len(truth)))
		t.Logf("%s lost %v extra %v faces %.3f least %.2f doubts %v", name, c.lost, c.extra, faces[len(faces)-1], least, kinds(r.Doubts))
	}
	median := middle(faces)
	t.Logf("arches %d, right %d, refused %d; teeth F1 %.4f (found %d, lost %d, wrong %d); faces right, median %.4f",
		arches, right, refused, float64(2*hits)/float64(2*hits+missed+invented), hits, missed, invented, median)
	t.Logf("score: %d of %d right, %.4f, %.4f", right, arches, float64(2*hits)/float64(2*hits+missed+invented), middle(faces))
	t.Logf("flagged: %d of %d wrong, %d of %d right", flaggedWrong, arches-refused-right, flaggedRight, right)
	t.Logf("called by tenths of confidence %v, of them right %v", called, calledRight)
}

// middle is the median.
func middle(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	sort.Float64s(x)
	return x[len(x)/2]
}

// kinds lists the kinds of doubts with their teeth.
func kinds(of []Doubt) (out []string) {
	for _, d := range of {
		out = append(out, fmt.Sprint(d.Kind, d.Teeth))
	}
	return out
}
