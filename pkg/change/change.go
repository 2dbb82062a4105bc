// Package change measures what changed on the crowns between two scans of one arch: each crown
// is laid over the other scan by what of it is unchanged, and what still differs is told only where
// chance cannot make it.
//
// Lengths are mm.
package change

import (
	"cmp"
	"context"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/internal/register"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/compare"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"gonum.org/v1/gonum/spatial/r3"
)

// ErrOther says that two scans do not show one arch.
var ErrOther = register.ErrOther

// All but provableUm are our choice.
const (
	// provableUm is the smallest change between two scannings that can be proved at best, µm: 1.96·√2
	// times 15 µm, the reproducibility of vertical measurements on repeated scans (15 to 20).
	provableUm = 42.0
	// exactUm is that between surfaces of one scan, µm; sameMM is how near to each other the crowns of
	// one scan lie, mm: the rounding of files is far below it.
	exactUm = 2.0
	sameMM  = 1e-4
	// scatter is how many standard deviations of the averaged differences on a crown a change
	// exceeds: of some hundred independent places none does by chance.
	scatter = 4.0
	// smoothMM is the radius over which differences are averaged, mm.
	smoothMM = 0.4
	// round is how much of the area around a place must face one way, as the length of the mean of
	// its normals: a surface of a radius below about 0.6 mm, as in fissures and at edges, is rounded
	// off otherwise by every scan.
	round = 0.9
	// borderMM is how far from the border of a crown differences count, mm: there scans end, or gingiva
	// begins.
	borderMM = 0.6
	// reachMM is the largest change that is looked for, mm.
	reachMM = 1.5
	// leastMM2 is the least area of a change, mm².
	leastMM2 = 0.1
	// fitPoints is about how many points of a crown are fitted.
	fitPoints = 1500
)

// Crowns measures the change of every crown that both scans of an arch show. Both must be labelled.
// Where they are not of one arch the error wraps [ErrOther].
func Crowns(ctx context.Context, before, after *casts.Scan) ([]compare.Crown, error) {
	x, err := index.New(ctx, after.Mesh, nil, index.Options{})
	if err != nil {
		return nil, err
	}
	teeth, verts := crowns(before, after)
	points := make([][]r3.Vec, len(teeth))
	for i, list := range verts {
		for k, every := 0, 1+len(list)/fitPoints; k < len(list); k += every {
			points[i] = append(points[i], before.Mesh.Vertex(list[k]))
		}
	}
	all, err := register.Crowns(ctx, before.Mesh, points, x)
	if err != nil {
		return nil, err
	}
	m := measure{before: before, after: after, onto: x, all: all, borders: borders(before.Mesh, before.Labels)}
	m.normals, m.areas = around(before.Mesh)
	out := make([]compare.Crown, len(teeth))
	err = par.Chunks(ctx, len(teeth), 1, 0, func(_, i, _ int) (err error) {
		out[i], err = m.crown(ctx, teeth[i], verts[i], points[i])
		return err
	})
	return out, err
}

// crowns lists the teeth that both scans show, in rising order, with their vertices on the first.
func crowns(before, after *casts.Scan) (teeth []dentition.ToothID, verts [][]mesh.VertexID) {
	var there [256]bool
	for _, t := range after.Teeth {
		there[t] = true
	}
	var of [256][]mesh.VertexID
	for v := range before.Mesh.NumVertices() {
		t := before.Labels.Vertex(mesh.VertexID(v))
		of[t] = append(of[t], mesh.VertexID(v))
	}
	for t := range of {
		if k := dentition.ToothID(t); k != dentition.NoTooth && there[k] && len(of[t]) > 0 {
			teeth, verts = append(teeth, k), append(verts, of[t])
		}
	}
	return teeth, verts
}

// borders marks the vertices at which a crown ends: on edges between labels, and on the border of the
// scan.
func borders(m *mesh.Mesh, labels *dentition.Labels) []bool {
	out := make([]bool, m.NumVertices())
	for _, c := range m.All() {
		a, b, d := labels.Vertex(c[0]), labels.Vertex(c[1]), labels.Vertex(c[2])
		if a != b || b != d {
			out[c[0]], out[c[1]], out[c[2]] = true, true, true
		}
	}
	for _, l := range mesh.BuildTopology(m).Loops() {
		for _, v := range l.Vertices {
			out[v] = true
		}
	}
	return out
}

// around returns the normal at each vertex and the area that belongs to it.
func around(m *mesh.Mesh) (normals []r3.Vec, areas []float64) {
	normals, areas = make([]r3.Vec, m.NumVertices()), make([]float64, m.NumVertices())
	for t, c := range m.All() {
		a := m.AreaVector(t)
		for _, v := range c {
			normals[v], areas[v] = r3.Add(normals[v], a), areas[v]+r3.Norm(a)/3
		}
	}
	return normals, areas
}

// measure is what the crowns of a scan share.
type measure struct {
	before, after *casts.Scan
	onto          *index.Index
	all           register.Fit
	borders       []bool
	normals       []r3.Vec
	areas         []float64
}

// spot is a vertex of a crown with how far the other scan lies from it, outward above 0.
type spot struct {
	at, out r3.Vec // with the unit normal outward
	area    float64
	off, by float64 // as measured, and averaged
}

// crown measures one crown.
func (m *measure) crown(ctx context.Context, t dentition.ToothID, verts []mesh.VertexID, points []r3.Vec) (compare.Crown, error) {
	c := compare.Crown{Tooth: findings.Part(t)}
	fit, ok := register.Crown(ctx, points, m.onto, m.all)
	if err := ctx.Err(); err != nil {
		return c, err
	}
	if !ok {
		return c, nil
	}
	spots := m.spots(t, verts, fit)
	if len(spots) == 0 {
		return c, nil
	}
	spots = averaged(spots)
	if len(spots) == 0 {
		return c, nil
	}
	c.Measured, c.FitUm = true, 1000*fit.Median
	c.ProvableUm = exactUm
	if m.all.Median > sameMM {
		c.ProvableUm = max(provableUm, 1000*scatter*deviation(spots))
	}
	c.Lost, c.Gained = changed(spots, c.ProvableUm, -1), changed(spots, c.ProvableUm, 1)
	return c, nil
}

// spots measures the differences at the vertices of a crown, away from its border.
func (m *measure) spots(t dentition.ToothID, verts []mesh.VertexID, fit register.Fit) []spot {
	var edge []r3.Vec
	for _, v := range verts {
		if m.borders[v] {
			edge = append(edge, m.before.Mesh.Vertex(v))
		}
	}
	var out []spot
	var walk index.Follower
	for _, v := range verts {
		p := m.before.Mesh.Vertex(v)
		n := m.normals[v]
		if n == (r3.Vec{}) || slices.ContainsFunc(edge, func(e r3.Vec) bool { return r3.Norm2(r3.Sub(e, p)) < borderMM*borderMM }) {
			continue
		}
		q := fit.Pose.Apply(p)
		h, ok := walk.Nearest(m.onto, q, reachMM)
		if !ok || m.after.Teeth[h.Tri] != t {
			continue
		}
		n = r3.Unit(n)
		out = append(out, spot{at: p, out: n, area: m.areas[v], off: r3.Dot(fit.Pose.Rotate(n), r3.Sub(h.Point, q))})
	}
	return out
}

// averaged returns the spots around which the surface is round enough, with their differences
// averaged, weighted by area and nearness.
func averaged(spots []spot) []spot {
	type cell [3]int32
	at := func(p r3.Vec) cell {
		return cell{int32(math.Floor(p.X / smoothMM)), int32(math.Floor(p.Y / smoothMM)), int32(math.Floor(p.Z / smoothMM))}
	}
	cells := map[cell][]int{}
	for i := range spots {
		c := at(spots[i].at)
		cells[c] = append(cells[c], i)
	}
	var out []spot
	for _, s := range spots {
		c := at(s.at)
		sum, weight, facing := 0.0, 0.0, r3.Vec{}
		for k := range 27 {
			for _, o := range cells[cell{c[0] + int32(k%3) - 1, c[1] + int32(k/3%3) - 1, c[2] + int32(k/9) - 1}] {
				if d := r3.Norm2(r3.Sub(spots[o].at, s.at)) / (smoothMM * smoothMM); d < 1 {
					w := spots[o].area * (1 - d)
					sum, weight, facing = sum+w*spots[o].off, weight+w, r3.Add(facing, r3.Scale(w, spots[o].out))
				}
			}
		}
		if s.by = sum / weight; r3.Norm(facing) >= round*weight {
			out = append(out, s)
		}
	}
	return out
}

// deviation is the standard deviation of the averaged differences, from their median distance
// from nothing, which a change on less than half of the crown hardly moves.
func deviation(spots []spot) float64 {
	list := make([]float64, len(spots))
	for i := range spots {
		list[i] = math.Abs(spots[i].by)
	}
	slices.Sort(list)
	return 1.4826 * list[len(list)/2]
}

// changed sums up what lies beyond the provable on one side: −1 for loss, 1 for gain.
func changed(spots []spot, provable float64, side float64) compare.Extent {
	var beyond []spot
	for _, s := range spots {
		if 1000*side*s.by > provable {
			beyond = append(beyond, s)
		}
	}
	slices.SortStableFunc(beyond, func(a, b spot) int { return cmp.Compare(side*b.by, side*a.by) })
	var e compare.Extent
	for _, s := range beyond {
		e.AreaMM2 += s.area
		e.VolumeMM3 += s.area * side * s.by
	}
	if e.AreaMM2 < leastMM2 {
		return compare.Extent{}
	}
	e.DeepestUm = 1000 * side * beyond[0].by
	at := findings.VecOf(beyond[0].at)
	e.PointMM = &at
	return e
}
