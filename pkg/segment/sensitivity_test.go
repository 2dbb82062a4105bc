package segment

import (
	"context"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// named lists the weights.
func (w *weights) named() map[string]*float64 {
	return map[string]*float64{
		"width": &w.width, "scale": &w.scale, "seam": &w.seam, "inside": &w.inside, "insideSeam": &w.insideSeam, "stand": &w.stand,
		"empty": &w.empty, "room": &w.room, "closed": &w.closed, "space": &w.space, "midline": &w.midline, "looks": &w.looks, "most": &w.most,
		"least": &w.least, "idle": &w.idle, "border": &w.border, "area": &w.area, "third": &w.third, "bare": &w.bare, "bareSpread": &w.bareSpread,
	}
}

// seenArch is an annotated arch with all on which a row rests.
type seenArch struct {
	jaw     dentition.Jaw
	picture *picture
	frames  []*archFrame
	bands   []*band
	centres map[dentition.ToothID]r3.Vec // of the annotated teeth
}

// right reports whether the likeliest row has the annotated teeth, the middle of each within its
// stretch.
func (a *seenArch) right(t *testing.T, w weights) bool {
	var best *reading
	for i, b := range a.bands {
		r := &reading{lineup: newLineup(b, a.picture.looks(b, a.frames[i], w.least), a.jaw, make([]int, len(b.top)), w), arch: a.frames[i]}
		var err error
		r.solution, err = r.number(context.Background())
		require.NoError(t, err)
		if best == nil || r.cost < best.cost {
			best = r
		}
	}
	if len(best.row) != len(a.centres) {
		return false
	}
	for _, s := range best.row {
		c, ok := a.centres[s.tooth]
		q, _ := best.arch.plan(c)
		station, _ := best.arch.along(q)
		if k := best.column(station); !ok || k < s.start || k >= s.end {
			return false
		}
	}
	return true
}

// TestSensitivity counts the rows of real scans that are right with each weight a fifth less and
// a fifth more, on persons as in [TestRealScans], every other arch of them. It takes minutes and
// runs only where CUSPTRACE_SENSITIVITY is set.
func TestSensitivity(t *testing.T) {
	dir, first, last := persons(t)
	if os.Getenv("CUSPTRACE_SENSITIVITY") == "" {
		t.Skip("CUSPTRACE_SENSITIVITY is not set")
	}
	files, err := filepath.Glob(filepath.Join(dir, "*_[UL].ply"))
	require.NoError(t, err)
	var arches []*seenArch
	n := 0
	for _, path := range files {
		name := strings.TrimSuffix(filepath.Base(path), ".ply")
		if k, err := strconv.Atoi(name[:3]); err != nil || k < first || k > last {
			continue
		}
		if n++; n%2 == 0 {
			continue
		}
		arches = append(arches, seeArch(t, path))
	}
	count := func(w weights) int {
		n := 0
		for _, a := range arches {
			if a.right(t, w) {
				n++
			}
		}
		return n
	}
	base := usualWeights()
	t.Logf("%d arches, rows right %d", len(arches), count(base))
	for _, name := range slices.Sorted(maps.Keys(base.named())) {
		less, more := base, base
		*less.named()[name] *= 0.8
		*more.named()[name] *= 1.2
		t.Logf("%s %g: %d less, %d more", name, *base.named()[name], count(less), count(more))
	}
}

func seeArch(t *testing.T, path string) *seenArch {
	a := &seenArch{jaw: dentition.Upper, centres: map[dentition.ToothID]r3.Vec{}}
	if strings.HasSuffix(path, "L.ply") {
		a.jaw = dentition.Lower
	}
	m, truth := readAnnotated(t, path, a.jaw)
	s := newSurface(m)
	var err error
	a.picture, err = s.picture(context.Background(), a.jaw)
	require.NoError(t, err)
	for _, f := range s.arches(a.picture, a.jaw) {
		a.bands = append(a.bands, unroll(s, f))
		a.frames = append(a.frames, f)
	}
	number := map[dentition.ToothID]float64{}
	for i, c := range m.All() {
		for _, v := range c {
			a.centres[truth[i]] = r3.Add(a.centres[truth[i]], m.Vertex(v))
		}
		number[truth[i]] += 3
	}
	for tooth, n := range number {
		if tooth == dentition.NoTooth || n <= 3*60 {
			delete(a.centres, tooth)
			continue
		}
		a.centres[tooth] = r3.Scale(1/n, a.centres[tooth])
	}
	return a
}
