package casts

import (
	"cmp"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/normal"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Where the teeth of both arches are labelled, casts meet between teeth: a technician trims
// gingiva, retromolar pads, cheek and bases away. What bites is then the labelled crowns,
// what lies unlabelled inside them, and what stands in the row like a tooth without being
// labelled: a tooth that was not found must not let its opponent sink into it.

// Of surface without a label that counts as a tooth; our choices. Ridges of lost teeth lie
// a crown's height, 6 to 8 mm, below the tops of their neighbours; a pad behind the last
// tooth may be as high as that tooth, but is smooth.
const (
	patchMost  = 20.0 // mm², up to which a patch of no label inside a crown belongs to it
	placeLeast = 3.0  // mm between neighbours, the least place for a tooth
	rowHalf    = 6.0  // mm to either side of the row
	topsWithin = 3.5  // mm below the tops of its neighbours
	areaLeast  = 12.0 // mm² of surface as high as that
	behindMost = 12.0 // mm behind the last tooth
	reliefRMS  = 0.25 // mm from a smooth surface of second order, as crowns have it
)

// Unlabelled is surface that counts as a tooth although it has no label: between two
// labelled neighbours, or behind the last tooth, where Right or Left is
// [dentition.NoTooth].
type Unlabelled struct{ Right, Left dentition.ToothID }

// trim takes from the cast what does not bite, and gives the mesh of the rest, with the
// vertices of the whole.
func (c *Cast) trim() (*mesh.Mesh, error) {
	keep, extra := biting(c.Whole, c.Labels, c.Frames)
	var tris [][3]mesh.VertexID
	var teeth []dentition.ToothID
	for t, corners := range c.Whole.All() {
		if keep[t] {
			tris, teeth = append(tris, corners), append(teeth, c.WholeTeeth[t])
		}
	}
	c.Teeth, c.Unlabelled = teeth, extra
	return mesh.Adopt(c.Whole.Vertices(), tris)
}

// biting says of every triangle of a cast in the articulator frame whether it bites, and
// lists what counts without a label.
func biting(m *mesh.Mesh, l *dentition.Labels, frames map[dentition.ToothID]anatomy.Frame) (keep []bool, extra []Unlabelled) {
	keep = make([]bool, m.NumTriangles())
	for t, c := range m.All() {
		keep[t] = l.Vertex(c[0]) != dentition.NoTooth || l.Vertex(c[1]) != dentition.NoTooth || l.Vertex(c[2]) != dentition.NoTooth
	}
	keepPatches(m, keep)
	row := newRow(m, l, frames)
	for i := range row {
		if i+1 < len(row) && row.keepBetween(m, l, keep, i) {
			extra = append(extra, Unlabelled{row[i].id, row[i+1].id})
		}
	}
	if n := len(row); n > 0 {
		if row.keepBehind(m, l, keep, 0) {
			extra = append(extra, Unlabelled{Left: row[0].id})
		}
		if n > 1 && row.keepBehind(m, l, keep, n-1) {
			extra = append(extra, Unlabelled{Right: row[n-1].id})
		}
	}
	return keep, extra
}

// keepPatches keeps small patches without a label that border on kept triangles: spots
// that the labels of a crown leave out.
func keepPatches(m *mesh.Mesh, keep []bool) {
	root := make([]mesh.VertexID, m.NumVertices())
	for v := range root {
		root[v] = mesh.VertexID(v)
	}
	find := func(v mesh.VertexID) mesh.VertexID {
		for root[v] != v {
			root[v] = root[root[v]]
			v = root[v]
		}
		return v
	}
	for t, c := range m.All() {
		if keep[t] {
			continue
		}
		a := find(c[0])
		for _, v := range c[1:] {
			a = min(a, find(v))
		}
		for _, v := range c {
			root[find(v)] = a
		}
	}
	area, borders := make([]float64, len(root)), make([]bool, len(root))
	for t, c := range m.All() {
		if keep[t] {
			for _, v := range c {
				borders[find(v)] = true // of a labelled corner, a patch of its own without area
			}
			continue
		}
		area[find(c[0])] += r3.Norm(m.AreaVector(t))
	}
	for t, c := range m.All() {
		if r := find(c[0]); !keep[t] && borders[r] && area[r] <= patchMost {
			keep[t] = true
		}
	}
}

// crownAt is a labelled crown in its row.
type crownAt struct {
	id    dentition.ToothID
	frame anatomy.Frame
	top   float64 // height of its highest point towards the opposing arch, mm
	verts []r3.Vec
}

// rowOf is the labelled crowns of a cast, from the right end of the row to the left.
type rowOf []crownAt

func newRow(m *mesh.Mesh, l *dentition.Labels, frames map[dentition.ToothID]anatomy.Frame) rowOf {
	by := map[dentition.ToothID]*crownAt{}
	for id, f := range frames {
		by[id] = &crownAt{id: id, frame: f, top: math.Inf(-1)}
	}
	up := upOf(l.Jaw())
	for v, p := range m.Vertices() {
		if c := by[l.Vertex(mesh.VertexID(v))]; c != nil {
			c.verts, c.top = append(c.verts, p), max(c.top, up*p.Z)
		}
	}
	var out rowOf
	for id := range dentition.All {
		if c := by[id]; c != nil {
			out = append(out, *c)
		}
	}
	place := func(t dentition.ToothID) int {
		if t.Side() == dentition.Right {
			return -t.Position()
		}
		return t.Position()
	}
	slices.SortStableFunc(out, func(a, b crownAt) int { return cmp.Compare(place(a.id), place(b.id)) })
	return out
}

// upOf is +1 where the teeth of a jaw point up, −1 where they point down.
func upOf(j dentition.Jaw) float64 {
	if j == dentition.Upper {
		return -1
	}
	return 1
}

// ends is the least and most of points along a direction.
func ends(points []r3.Vec, along r3.Vec) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, p := range points {
		s := r3.Dot(p, along)
		lo, hi = min(lo, s), max(hi, s)
	}
	return lo, hi
}

// level is a direction without its height; ok is false where nothing is left.
func level(d r3.Vec) (r3.Vec, bool) {
	d.Z = 0
	n := r3.Norm(d)
	if !(n > 0) {
		return d, false
	}
	return r3.Scale(1/n, d), true
}

// standing lists the triangles without a kept corner that lie from lo to hi along a level
// direction, near the row through at, and at least as high as low, with their area.
func standing(m *mesh.Mesh, l *dentition.Labels, keep []bool, along, at r3.Vec, lo, hi, low float64) (found []mesh.TriID, area float64) {
	across, up := r3.Cross(r3.Vec{Z: 1}, along), upOf(l.Jaw())
	in := func(p r3.Vec) bool {
		s := r3.Dot(p, along)
		return s > lo && s < hi && up*p.Z >= low && math.Abs(r3.Dot(r3.Sub(p, at), across)) <= rowHalf
	}
	for t := range m.All() {
		if keep[t] {
			continue
		}
		if a, b, c := m.Corners(t); in(a) && in(b) && in(c) {
			found, area = append(found, t), area+r3.Norm(m.AreaVector(t))
		}
	}
	return found, area
}

// keepBetween keeps what stands as high as teeth between crown i and the next, where there
// is a place for one.
func (r rowOf) keepBetween(m *mesh.Mesh, l *dentition.Labels, keep []bool, i int) bool {
	a, b := &r[i], &r[i+1]
	along, ok := level(r3.Sub(b.frame.Centre, a.frame.Centre))
	if !ok {
		return false
	}
	_, from := ends(a.verts, along)
	to, _ := ends(b.verts, along)
	if to-from < placeLeast {
		return false
	}
	at := r3.Scale(0.5, r3.Add(a.frame.Centre, b.frame.Centre))
	found, area := standing(m, l, keep, along, at, from-0.5, to+0.5, min(a.top, b.top)-topsWithin)
	if area < areaLeast {
		return false
	}
	for _, t := range found {
		keep[t] = true
	}
	return true
}

// keepBehind keeps what stands behind the crown at an end of the row with the height and
// the relief of a tooth.
func (r rowOf) keepBehind(m *mesh.Mesh, l *dentition.Labels, keep []bool, i int) bool {
	c := &r[i]
	along, ok := level(r3.Scale(-1, c.frame.Mesial))
	if !ok || !c.id.Type().Molar() {
		return false
	}
	_, from := ends(c.verts, along)
	found, area := standing(m, l, keep, along, c.frame.Centre, from-0.5, from+behindMost, c.top-topsWithin)
	if area < 2*areaLeast || unevenness(m, found, along) < reliefRMS {
		return false
	}
	for _, t := range found {
		keep[t] = true
	}
	return true
}

// worstFit is the condition from which a surface of second order is not told by points.
const worstFit = 1e8

// unevenness is how far (mm, root of the mean square) the corners of triangles lie from the
// surface of second order that fits their heights best.
func unevenness(m *mesh.Mesh, tris []mesh.TriID, along r3.Vec) float64 {
	seen := map[mesh.VertexID]bool{}
	var points []r3.Vec
	var middle r3.Vec
	for _, t := range tris {
		for _, v := range m.Triangle(t) {
			if !seen[v] {
				seen[v] = true
				points, middle = append(points, m.Vertex(v)), r3.Add(middle, m.Vertex(v))
			}
		}
	}
	const terms = 6
	if len(points) < 2*terms {
		return 0
	}
	middle = r3.Scale(1/float64(len(points)), middle)
	across := r3.Cross(r3.Vec{Z: 1}, along)
	row := func(p r3.Vec) [terms]float64 {
		d := r3.Scale(1/behindMost, r3.Sub(p, middle)) // of the size of 1
		s, q := r3.Dot(d, along), r3.Dot(d, across)
		return [terms]float64{1, s, q, s * s, s * q, q * q}
	}
	of := normal.New(terms)
	for _, p := range points {
		r := row(p)
		of.Add(r[:], p.Z-middle.Z, 1)
	}
	x, ok := of.Solve(worstFit)
	if !ok {
		return 0
	}
	sum := 0.0
	for _, p := range points {
		off := p.Z - middle.Z
		for k, v := range row(p) {
			off -= v * x[k]
		}
		sum += off * off
	}
	return math.Sqrt(sum / float64(len(points)))
}
