// Package anatomy describes labelled crowns: how a tooth stands, its cusps, fossae,
// ridges and edges, where on it a point lies, and what is measured between them.
package anatomy

import (
	"cmp"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Frame is where a tooth stands in its scan, as far as its crown shows. The
// directions are perpendicular unit vectors; being anatomical, Mesial, Buccal
// and Occlusal form a right-handed system in quadrants 1 and 3 (and 5 and 7)
// and a left-handed one in the others.
type Frame struct {
	Tooth dentition.ToothID
	// Centre is the area-weighted middle of the labelled surface, mm.
	Centre r3.Vec
	// Occlusal is the direction of the long axis, from root to crown.
	Occlusal r3.Vec
	// Buccal points to cheek or lip, Mesial along the arch to the midline.
	Buccal, Mesial r3.Vec
}

// Local is p in the tooth's coordinates, mm: mesial, buccal and occlusal of the
// centre.
func (f Frame) Local(p r3.Vec) (mesial, buccal, occlusal float64) {
	d := r3.Sub(p, f.Centre)
	return r3.Dot(d, f.Mesial), r3.Dot(d, f.Buccal), r3.Dot(d, f.Occlusal)
}

// World is the point that [Frame.Local] takes to the given coordinates.
func (f Frame) World(mesial, buccal, occlusal float64) r3.Vec {
	return r3.Add(f.Centre, f.Direction(mesial, buccal, occlusal))
}

// Direction is the vector with the given tooth coordinates.
func (f Frame) Direction(mesial, buccal, occlusal float64) r3.Vec {
	return r3.Add(r3.Scale(mesial, f.Mesial), r3.Add(r3.Scale(buccal, f.Buccal), r3.Scale(occlusal, f.Occlusal)))
}

// turn points the long axis along occlusal and Mesial as nearly along mesial as
// is perpendicular to it. Anatomy gives the rest.
func (f *Frame) turn(occlusal, mesial r3.Vec) {
	f.Occlusal = r3.Unit(occlusal)
	flat := r3.Sub(mesial, r3.Scale(r3.Dot(mesial, f.Occlusal), f.Occlusal))
	if !(r3.Norm(flat) > 0) {
		flat = geom.Perpendicular(f.Occlusal)
	}
	f.Mesial = r3.Unit(flat)
	f.Buccal = r3.Cross(f.Occlusal, f.Mesial)
	if f.Tooth.Quadrant()%2 == 0 {
		f.Buccal = r3.Scale(-1, f.Buccal)
	}
}

// Frames finds the frame of every labelled tooth, in rising order of codes.
// Labels of fewer than 40 vertices are left out, and so is a tooth that stands
// alone in its arch, since only neighbours tell mesial from buccal. Labels that
// do not fit the mesh are an error wrapping [dentition.ErrLabelsCount]. Pieces of a
// label that lie apart from its crown do not count, and small holes in a crown do.
//
// The long axis comes from the crown alone: from the middles of its
// cross-sections, the lie of its occlusal table and, in anterior teeth, the line
// from the neck to the incisal edge. The whole tooth's axis can differ from it
// by some degrees. Where the shape does not tell, the usual inclinations on
// Monson's sphere lead.
func Frames(m *mesh.Mesh, l *dentition.Labels) ([]Frame, error) {
	l, err := tidied(m, l)
	if err != nil {
		return nil, err
	}
	crowns, err := collectCrowns(m, l)
	if err != nil {
		return nil, err
	}
	return frames(crowns), nil
}

func frames(crowns []crown) []Frame {
	if len(crowns) < 2 {
		return nil
	}
	normal := occlusalNormal(crowns)
	middle := chordMiddle(crowns)
	out := make([]Frame, len(crowns))
	for i := range crowns {
		c := &crowns[i]
		f := Frame{Tooth: c.tooth, Centre: c.centre}
		mesial := archDirection(crowns, i)
		f.turn(normal, mesial)
		f.turn(usualAxis(f, r3.Sub(c.centre, middle)), mesial)
		usual := f.Occlusal
		for range steps {
			f.turn(c.better(f), mesial)
		}
		f.turn(r3.Add(r3.Scale(trust, usual), r3.Scale(1-trust, f.Occlusal)), mesial)
		f.turn(f.Occlusal, c.spin(f))
		out[i] = f
	}
	slices.SortFunc(out, func(a, b Frame) int { return cmp.Compare(a.Tooth, b.Tooth) })
	return out
}

const (
	steps = 6   // after which axes move by less than a degree
	trust = 0.4 // share of the usual inclination in the axis; our choice
)

// crown is the labelled surface of one tooth.
type crown struct {
	tooth  dentition.ToothID
	verts  []r3.Vec // some of its vertices
	centre r3.Vec   // area-weighted
	facing r3.Vec   // sum of the area vectors, mm²
}

// minCrown is the number of vertices from which a label is taken for a crown;
// our choice. The smallest crowns in scans of 20,000 triangles have about 100.
const minCrown = 40

// collectCrowns gathers the crowns in the order in which they stand along the
// arch, from the patient's right to the left.
func collectCrowns(m *mesh.Mesh, l *dentition.Labels) ([]crown, error) {
	tris, err := l.Triangles(m)
	if err != nil {
		return nil, err
	}
	var all [256]crown
	var area [256]float64
	for t, tooth := range tris {
		if tooth == dentition.NoTooth {
			continue
		}
		c := &all[tooth]
		v := m.AreaVector(mesh.TriID(t))
		p, q, r := m.Corners(mesh.TriID(t))
		w := r3.Norm(v)
		area[tooth] += w
		c.facing = r3.Add(c.facing, v)
		c.centre = r3.Add(c.centre, r3.Scale(w/3, r3.Add(p, r3.Add(q, r))))
	}
	for v, p := range m.Vertices() {
		if t := l.Vertex(mesh.VertexID(v)); t != dentition.NoTooth {
			all[t].verts = append(all[t].verts, p)
		}
	}
	var out []crown
	for t := range dentition.All {
		if c := all[t]; len(c.verts) >= minCrown && area[t] > 0 && r3.Norm(c.facing) > 0 {
			c.tooth, c.centre = t, r3.Scale(1/area[t], c.centre)
			c.verts = thinned(c.verts)
			out = append(out, c)
		}
	}
	slices.SortStableFunc(out, func(a, b crown) int { return cmp.Compare(rank(a.tooth), rank(b.tooth)) })
	return out, nil
}

// enough vertices tell the shape of a crown; more only cost time.
const enough = 1500

// thinned is about the given number of the points, evenly from the list.
func thinned(p []r3.Vec) []r3.Vec {
	step := len(p) / enough
	if step < 2 {
		return p
	}
	out := p[:0]
	for i := 0; i < len(p); i += step {
		out = append(out, p[i])
	}
	return out
}

// rank orders the teeth of a jaw from the patient's right to the left: −8 to 8
// without 0.
func rank(t dentition.ToothID) int {
	if t.Side() == dentition.Right {
		return -t.Position()
	}
	return t.Position()
}

// occlusalNormal is the normal of the occlusal plane: the plane fitted to each
// crown's highest point, seen along the normal. It starts from the direction in
// which the labelled surface faces.
func occlusalNormal(crowns []crown) r3.Vec {
	var sum r3.Vec
	for _, c := range crowns {
		sum = r3.Add(sum, c.facing)
	}
	n := r3.Unit(sum)
	for range 3 {
		n = geom.PlaneNormal(highest(crowns, n), n)
	}
	return n
}

// highest is each crown's point farthest along n.
func highest(crowns []crown, n r3.Vec) []r3.Vec {
	var out []r3.Vec
	for _, c := range crowns {
		if c.tooth.Type() == dentition.ThirdMolar {
			continue
		}
		top := c.verts[0]
		for _, v := range c.verts {
			if r3.Dot(v, n) > r3.Dot(top, n) {
				top = v
			}
		}
		out = append(out, top)
	}
	return out
}

// archDirection is the direction of the arch at tooth i to mesial, through its
// neighbours. Beyond a gap a neighbour tells less: it counts by the inverse
// square of its distance.
func archDirection(crowns []crown, i int) r3.Vec {
	var left r3.Vec
	for _, k := range []int{-1, 1} {
		if i+k < 0 || i+k >= len(crowns) {
			continue
		}
		d := r3.Scale(float64(k), r3.Sub(crowns[i+k].centre, crowns[i].centre))
		if l := r3.Norm(d); l > 0 {
			left = r3.Add(left, r3.Scale(1/(l*l*l), d))
		}
	}
	if crowns[i].tooth.Side() == dentition.Left {
		return r3.Scale(-1, left)
	}
	return left
}

// Usual inclinations: the posterior teeth stand on Monson's sphere (4 in, 1920), the
// incisors lean labially by less than the 26 to 34° that whole teeth have to
// the occlusal plane (Tong et al. 2012, doi 10.1016/j.ajodo.2011.12.018), since
// crowns count here; the canines by half of it. Both are our choice.
const (
	monson      = 101.6 // mm
	incisorLean = 22.0  // °
	canineLean  = 10.0  // °
)

// chordMiddle is the middle of the chord of the curve of Spee, over which the centre of
// Monson's sphere stands: between the middle of the anterior teeth and that of the
// last teeth of both sides.
func chordMiddle(crowns []crown) r3.Vec {
	var front []r3.Vec
	for _, c := range crowns {
		if c.tooth.Type().Incisor() {
			front = append(front, c.centre)
		}
	}
	first, last := crowns[0], crowns[len(crowns)-1]
	if len(front) == 0 || first.tooth.Side() == last.tooth.Side() {
		for _, c := range crowns {
			front = append(front, c.centre)
		}
		return mean(front)
	}
	return mean([]r3.Vec{mean(front), mean([]r3.Vec{first.centre, last.centre})})
}

func mean(p []r3.Vec) (m r3.Vec) {
	for _, q := range p {
		m = r3.Add(m, r3.Scale(1/float64(len(p)), q))
	}
	return m
}

// usualAxis is the long axis by handbook of a tooth at a place relative to the
// middle of the arch; f points along the normal of the occlusal plane.
func usualAxis(f Frame, place r3.Vec) r3.Vec {
	switch t := f.Tooth.Type(); {
	case t.Incisor():
		return f.Direction(0, math.Tan(incisorLean*math.Pi/180), 1)
	case t == dentition.Canine:
		return f.Direction(0, math.Tan(canineLean*math.Pi/180), 1)
	}
	out := r3.Sub(place, r3.Scale(r3.Dot(place, f.Occlusal), f.Occlusal))
	if f.Tooth.Jaw() == dentition.Lower {
		out = r3.Scale(-1, out) // to the centre of the sphere, above
	}
	return r3.Add(r3.Scale(monson, f.Occlusal), out)
}
