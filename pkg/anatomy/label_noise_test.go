package anatomy_test

import (
	"container/heap"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/internal/realcase"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

var labelSeeds = flag.String("label-seeds", "", "print landmark errors under label noise for the seeds FROM:TO")

// surface is a mesh with what walks over it need.
type surface struct {
	m    *mesh.Mesh
	next [][]mesh.VertexID
}

func newSurface(m *mesh.Mesh) *surface {
	s := &surface{m: m, next: make([][]mesh.VertexID, m.NumVertices())}
	for _, t := range m.Triangles() {
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			if !slices.Contains(s.next[a], b) {
				s.next[a] = append(s.next[a], b)
			}
			if !slices.Contains(s.next[b], a) {
				s.next[b] = append(s.next[b], a)
			}
		}
	}
	return s
}

// walker is a vertex that Dijkstra's search has reached.
type walker struct {
	d    float64
	v    mesh.VertexID
	from int
}

type walkers []walker

func (w walkers) Len() int           { return len(w) }
func (w walkers) Less(i, j int) bool { return w[i].d < w[j].d || w[i].d == w[j].d && w[i].v < w[j].v }
func (w walkers) Swap(i, j int)      { w[i], w[j] = w[j], w[i] }
func (w *walkers) Push(x any)        { *w = append(*w, x.(walker)) }
func (w *walkers) Pop() any {
	n := len(*w) - 1
	x := (*w)[n]
	*w = (*w)[:n]
	return x
}

// reach is, for vertices within limit along edges of the sources, the distance (mm)
// and the number of the nearest source; others have number −1.
func (s *surface) reach(sources []mesh.VertexID, limit float64) (d []float64, from []int) {
	d, from = make([]float64, len(s.next)), make([]int, len(s.next))
	for v := range d {
		d[v], from[v] = math.Inf(1), -1
	}
	var q walkers
	for i, v := range sources {
		heap.Push(&q, walker{0, v, i})
	}
	for len(q) > 0 {
		w := heap.Pop(&q).(walker)
		if w.d >= d[w.v] {
			continue
		}
		d[w.v], from[w.v] = w.d, w.from
		for _, o := range s.next[w.v] {
			if e := w.d + r3.Norm(r3.Sub(s.m.Vertex(w.v), s.m.Vertex(o))); e <= limit && e < d[o] {
				heap.Push(&q, walker{e, o, w.from})
			}
		}
	}
	return d, from
}

// labelsOf copies labels into a slice.
func labelsOf(l *dentition.Labels) []dentition.ToothID {
	out := make([]dentition.ToothID, l.NumVertices())
	for v := range out {
		out[v] = l.Vertex(mesh.VertexID(v))
	}
	return out
}

// rims are the vertices of a label that touch another label or none.
func (s *surface) rims(label []dentition.ToothID) (rim []mesh.VertexID) {
	for v, next := range s.next {
		for _, o := range next {
			if label[o] != label[v] {
				rim = append(rim, mesh.VertexID(v))
				break
			}
		}
	}
	return rim
}

// shifted moves the borders of all labels outward by by(p) mm, inward below 0. On
// the way out teeth take gingiva; where two meet, the nearer one has it.
func (s *surface) shifted(label []dentition.ToothID, by func(r3.Vec) float64) []dentition.ToothID {
	const most = 2
	var teeth, outside []mesh.VertexID
	for _, v := range s.rims(label) {
		if label[v] != dentition.NoTooth {
			teeth = append(teeth, v)
		} else {
			outside = append(outside, v)
		}
	}
	out := slices.Clone(label)
	dOut, from := s.reach(teeth, most)
	dIn, _ := s.reach(outside, most)
	for v := range out {
		shift := by(s.m.Vertex(mesh.VertexID(v)))
		switch {
		case label[v] == dentition.NoTooth && from[v] >= 0 && dOut[v] <= shift:
			out[v] = label[teeth[from[v]]]
		case label[v] != dentition.NoTooth && dIn[v] < -shift:
			out[v] = dentition.NoTooth
		}
	}
	return out
}

// patches gives discs of the surface around chosen vertices another label.
func (s *surface) patches(label []dentition.ToothID, at []mesh.VertexID, radius float64, to func(i int) dentition.ToothID) {
	d, from := s.reach(at, radius)
	for v := range label {
		if from[v] >= 0 && d[v] <= radius {
			label[v] = to(from[v])
		}
	}
}

// labelNoise are the kinds of noise in labels, each by at most 1.5 mm.
var labelNoise = []struct {
	name string
	make func(s *surface, label []dentition.ToothID, rng *rand.Rand) []dentition.ToothID
}{
	{"none", func(_ *surface, l []dentition.ToothID, _ *rand.Rand) []dentition.ToothID { return slices.Clone(l) }},
	{"grown 0.7 mm", func(s *surface, l []dentition.ToothID, _ *rand.Rand) []dentition.ToothID {
		return s.shifted(l, func(r3.Vec) float64 { return 0.7 })
	}},
	{"grown 1.5 mm", func(s *surface, l []dentition.ToothID, _ *rand.Rand) []dentition.ToothID {
		return s.shifted(l, func(r3.Vec) float64 { return 1.5 })
	}},
	{"shrunk 0.7 mm", func(s *surface, l []dentition.ToothID, _ *rand.Rand) []dentition.ToothID {
		return s.shifted(l, func(r3.Vec) float64 { return -0.7 })
	}},
	{"shrunk 1.5 mm", func(s *surface, l []dentition.ToothID, _ *rand.Rand) []dentition.ToothID {
		return s.shifted(l, func(r3.Vec) float64 { return -1.5 })
	}},
	{"ragged", func(s *surface, l []dentition.ToothID, rng *rand.Rand) []dentition.ToothID {
		var wave [6]r3.Vec
		var phase [6]float64
		for i := range wave {
			wave[i] = r3.Scale(2*math.Pi/(2+2*rng.Float64()), r3.Unit(r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}))
			phase[i] = 2 * math.Pi * rng.Float64()
		}
		return s.shifted(l, func(p r3.Vec) float64 {
			sum := 0.0
			for i := range wave {
				sum += math.Sin(r3.Dot(wave[i], p) + phase[i])
			}
			return max(-1.5, min(1.5, sum*1.5/math.Sqrt(6)))
		})
	}},
	{"spilled over neighbours", func(s *surface, l []dentition.ToothID, rng *rand.Rand) []dentition.ToothID {
		out := s.shifted(l, func(r3.Vec) float64 { return 1 })
		// Every other tooth takes what lies within 1.5 mm of it.
		parity := dentition.ToothID(rng.IntN(2))
		var rim []mesh.VertexID
		for _, v := range s.rims(out) {
			if out[v] != dentition.NoTooth && out[v]%2 == parity {
				rim = append(rim, v)
			}
		}
		before := slices.Clone(out)
		s.patches(out, rim, 1.5, func(i int) dentition.ToothID { return before[rim[i]] })
		return out
	}},
	{"holes", func(s *surface, l []dentition.ToothID, rng *rand.Rand) []dentition.ToothID {
		out := slices.Clone(l)
		var of []mesh.VertexID
		for v := range l {
			if l[v] != dentition.NoTooth && rng.Float64() < 40/float64(len(l)) {
				of = append(of, mesh.VertexID(v))
			}
		}
		s.patches(out, of, 0.5+0.5*rng.Float64(), func(int) dentition.ToothID { return dentition.NoTooth })
		return out
	}},
	{"islands", func(s *surface, l []dentition.ToothID, rng *rand.Rand) []dentition.ToothID {
		out := slices.Clone(l)
		var at []mesh.VertexID
		var of []dentition.ToothID
		for range 40 {
			v := rng.IntN(len(l))
			// The tooth of a vertex within 12 mm.
			for range 1000 {
				w := rng.IntN(len(l))
				if l[w] != dentition.NoTooth && r3.Norm(r3.Sub(s.m.Vertex(mesh.VertexID(v)), s.m.Vertex(mesh.VertexID(w)))) < 12 {
					at, of = append(at, mesh.VertexID(v)), append(of, l[w])
					break
				}
			}
		}
		s.patches(out, at, 0.8, func(i int) dentition.ToothID { return of[i] })
		return out
	}},
}

// labelled is an arch with labels and the true places of landmarks.
type labelled struct {
	m     *mesh.Mesh
	l     *dentition.Labels
	truth []anatomy.Landmark
	// mounting is the truth of the mounting points of a lower arch.
	mounting *anatomy.Mounting
}

// dentitionOf is a synthetic pair of one seed: no two are alike.
func dentitionOf(t testing.TB, seed uint64) []labelled {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 14))
	p := typodont.Params{Triangles: 40000 + 20000*rng.IntN(3), Overjet: 2.2 + 0.4*rng.Float64(), Overbite: 2.5 + 0.6*rng.Float64(), Seed: seed}
	p.Disturbances = append(p.Disturbances, typodont.Disturbance{Kind: typodont.Noise, Um: 5 + 15*rng.Float64(), MM: 0.8})
	c := generate(t, p)
	var out []labelled
	for _, a := range []typodont.Arch{c.Upper, c.Lower} {
		x := labelled{m: a.Mesh, l: a.Labels}
		for _, tooth := range c.Truth.Teeth {
			id := dentition.ToothID(tooth.Tooth)
			if id.Jaw() != a.Labels.Jaw() {
				continue
			}
			for f := anatomy.MesiobuccalCusp; f <= anatomy.DistoincisalEdge; f++ {
				for _, list := range [][]typodont.PointTruth{tooth.Cusps, tooth.Features} {
					for _, q := range list {
						if q.Name == truthName(id, f) {
							x.truth = append(x.truth, anatomy.Landmark{Tooth: id, Feature: f, Point: q.Point.Vec()})
						}
					}
				}
			}
		}
		if a.Labels.Jaw() == dentition.Lower {
			x.mounting = &anatomy.Mounting{IncisalPoint: c.Truth.IncisalPoint.Vec(), RightMolar: c.Truth.RightMolar.Vec(),
				LeftMolar: c.Truth.LeftMolar.Vec()}
		}
		out = append(out, x)
	}
	return out
}

// realArches is the real case; what is found with a person's labels counts as truth.
func realArches(t testing.TB) []labelled {
	t.Helper()
	var out []labelled
	for _, jaw := range []dentition.Jaw{dentition.Upper, dentition.Lower} {
		m, l := realcase.Arch(t, jaw)
		marks, err := anatomy.Landmarks(m, l)
		require.NoError(t, err)
		x := labelled{m: m, l: l, truth: marks}
		if jaw == dentition.Lower {
			p, err := anatomy.MountingPoints(m, l)
			require.NoError(t, err)
			x.mounting = &p
		}
		out = append(out, x)
	}
	return out
}

// labelErrors are the distances (mm) of landmarks from the truth under one kind of noise.
type labelErrors struct {
	edges, off, tips, mounting []float64 // off is that from the true edge as a line
	missing                    int
	worst                      string
	most                       float64
}

func (e *labelErrors) add(x *labelled, label []dentition.ToothID, t testing.TB) {
	l, err := dentition.NewLabels(x.l.Jaw(), label)
	require.NoError(t, err)
	marks, err := anatomy.Landmarks(x.m, l)
	require.NoError(t, err)
	for _, w := range x.truth {
		edge := w.Feature >= anatomy.MesioincisalEdge && w.Feature <= anatomy.DistoincisalEdge
		if !edge && !w.Feature.Cusp() || w.Tooth.Type() == dentition.ThirdMolar {
			continue
		}
		i := slices.IndexFunc(marks, func(k anatomy.Landmark) bool { return k.Tooth == w.Tooth && k.Feature == w.Feature })
		if i < 0 {
			e.missing++
			continue
		}
		d := r3.Norm(r3.Sub(marks[i].Point, w.Point))
		if d > e.most {
			e.most, e.worst = d, fmt.Sprintf("%v %v", w.Tooth, w.Feature)
		}
		if edge {
			e.edges = append(e.edges, d)
			e.off = append(e.off, x.offEdge(marks[i]))
		} else {
			e.tips = append(e.tips, d)
		}
	}
	if x.mounting == nil {
		return
	}
	p, err := anatomy.MountingPoints(x.m, l)
	if err != nil {
		e.missing++
		return
	}
	for _, q := range [][2]r3.Vec{{p.IncisalPoint, x.mounting.IncisalPoint}, {p.RightMolar, x.mounting.RightMolar},
		{p.LeftMolar, x.mounting.LeftMolar}} {
		e.mounting = append(e.mounting, r3.Norm(r3.Sub(q[0], q[1])))
	}
}

// offEdge is how far a landmark lies from the line through the true ends of its edge.
func (x *labelled) offEdge(k anatomy.Landmark) float64 {
	var end [2]r3.Vec
	for _, w := range x.truth {
		if w.Tooth == k.Tooth && w.Feature == anatomy.MesioincisalEdge {
			end[0] = w.Point
		} else if w.Tooth == k.Tooth && w.Feature == anatomy.DistoincisalEdge {
			end[1] = w.Point
		}
	}
	return r3.Norm(r3.Cross(r3.Sub(k.Point, end[0]), r3.Unit(r3.Sub(end[1], end[0]))))
}

func spread(d []float64) string {
	if len(d) == 0 {
		return "–"
	}
	s := slices.Sorted(slices.Values(d))
	return fmt.Sprintf("%.2f %.2f %.2f", s[len(s)/2], s[len(s)*95/100], s[len(s)-1])
}

// labelTable measures all kinds of noise on some arches.
func labelTable(t testing.TB, arches []labelled, seed uint64) []labelErrors {
	out := make([]labelErrors, len(labelNoise))
	for i := range arches {
		s := newSurface(arches[i].m)
		label := labelsOf(arches[i].l)
		for k, n := range labelNoise {
			out[k].add(&arches[i], n.make(s, label, rand.New(rand.NewPCG(seed, uint64(k)))), t)
		}
	}
	return out
}

// Whatever is wrong with the labels by up to 1.5 mm, incisal edges stay on edges and
// the points of the average mounting where they are. The search was set on seeds 1 to
// 4 and looked at on the real case; seed 901 was not used. Labels that take the
// neighbour's corner shift the ends of an edge along the row, not off it.
func TestEdgesStayOnEdges(t *testing.T) {
	if testing.Short() {
		t.Skip("takes 10 s")
	}
	arches := dentitionOf(t, 901)
	if _, err := os.Stat(realcase.Dir); err == nil {
		arches = append(arches, realArches(t)...)
	}
	for i, e := range labelTable(t, arches, 901) {
		name := labelNoise[i].name
		require.NotEmpty(t, e.off, name)
		require.Less(t, slices.Max(e.off), 1.0, name)
		require.Less(t, slices.Max(e.edges), 2.0, name)
		require.Len(t, e.mounting, 3*len(arches)/2, name)
		require.Less(t, slices.Max(e.mounting), 0.5, name)
	}
}

// Landmarks against noise in the labels, printed as a table:
//
//	go test ./pkg/anatomy -run LabelNoiseTable -v -label-seeds 1:4
func TestLabelNoiseTable(t *testing.T) {
	if *labelSeeds == "" {
		t.Skip("prints a table with -label-seeds FROM:TO or real")
	}
	total := make([]labelErrors, len(labelNoise))
	sum := func(part []labelErrors) {
		for k := range part {
			a, b := &total[k], &part[k]
			a.edges, a.off, a.tips, a.mounting = append(a.edges, b.edges...), append(a.off, b.off...), append(a.tips,
				b.tips...), append(a.mounting, b.mounting...)
			a.missing += b.missing
			if b.most > a.most {
				a.most, a.worst = b.most, b.worst
			}
		}
	}
	if *labelSeeds == "real" {
		sum(labelTable(t, realArches(t), 1))
	} else {
		var from, to uint64
		_, err := fmt.Sscanf(*labelSeeds, "%d:%d", &from, &to)
		require.NoError(t, err)
		for seed := from; seed < to; seed++ {
			sum(labelTable(t, dentitionOf(t, seed), seed))
		}
	}
	var b strings.Builder
	b.WriteString("\n| labels | edges: median, 95 %, most (mm) | off the edge | cusp tips | mounting points | missing " +
		"| worst |\n|---|---|---|---|---|---|---|\n")
	for k, n := range labelNoise {
		e := &total[k]
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %s | %d | %s |\n", n.name, spread(e.edges), spread(e.off), spread(e.tips),
			spread(e.mounting), e.missing, e.worst)
	}
	t.Log(b.String())
}
