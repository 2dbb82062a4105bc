// Package interlock finds where an upper and a lower dental arch, each scanned in
// a frame of its own, come close over the largest area without crossing: the places
// in which their cusps and hollows interlock.
//
// An arch is laid in its own frame, seen along its occlusal plane as a relief. Of
// the lower relief a grid of points is moved under the upper one, first over a grid
// of shifts and turns, then to the nearest best place in all six freedoms. The gap
// at a point is that along the normal of the upper surface there.
package interlock

import (
	"errors"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// ErrTeeth says that the labelled teeth of an arch are too few, or too much on one
// side, to tell its midline.
var ErrTeeth = errors.New("the labelled teeth do not show the midline")

// Arch is one arch in its own frame: x to the patient's left, y back and z up, the
// occlusal plane about z = 0 and the front of the midline about the origin; mm.
type Arch struct {
	Jaw dentition.Jaw
	// FromScan takes a point of the scan into the frame of the arch.
	FromScan kinematics.Pose
	// Depth is from the front to the last teeth, mm.
	Depth float64
	// Teeth are those labelled, in rising order of their codes; empty where the frame
	// was found without them.
	Teeth []Tooth

	mesh *mesh.Mesh          // in the frame of the arch
	tris []dentition.ToothID // of each triangle; nil without labels
}

// Tooth is where a tooth stands in the frame of its arch.
type Tooth struct {
	ID dentition.ToothID
	// Centre is the area-weighted middle of its surface, Top the point of it that
	// reaches farthest to the other jaw.
	Centre, Top r3.Vec
}

// Tooth is the tooth of a code.
func (a *Arch) Tooth(id dentition.ToothID) (Tooth, bool) {
	for _, t := range a.Teeth {
		if t.ID == id {
			return t, true
		}
	}
	return Tooth{}, false
}

// InFrame is an arch whose frame is known from elsewhere. labels may be nil.
func InFrame(m *mesh.Mesh, labels *dentition.Labels, jaw dentition.Jaw, fromScan kinematics.Pose, depth float64) (*Arch, error) {
	a := &Arch{Jaw: jaw, FromScan: fromScan, Depth: depth}
	var err error
	if labels != nil {
		if a.tris, err = labels.Triangles(m); err != nil {
			return nil, err
		}
	}
	a.mesh, err = m.Transform(fromScan.Apply)
	return a, err
}

// leastCrown is the area, in mm², below which a label is no crown: a fifth of the
// smallest crowns; our choice.
const leastCrown = 15.0

// FromTeeth lays an arch in the frame of its labelled teeth: the occlusal plane is
// fitted to the tops of its crowns, left is where the teeth of the left side stand
// from the same teeth of the right side, and the midline runs between them. Labels
// that show no midline are an error wrapping [ErrTeeth].
func FromTeeth(m *mesh.Mesh, labels *dentition.Labels) (*Arch, error) {
	a := &Arch{Jaw: labels.Jaw()}
	var err error
	if a.tris, err = labels.Triangles(m); err != nil {
		return nil, err
	}
	facing := a.crowns(m)
	if len(a.Teeth) < 4 {
		return nil, fmt.Errorf("%w: %d teeth are too few", ErrTeeth, len(a.Teeth))
	}
	n := r3.Unit(facing)
	for range 4 {
		a.tops(m, labels, n)
		var tops []r3.Vec
		for _, t := range a.Teeth {
			if t.ID.Type() != dentition.ThirdMolar {
				tops = append(tops, t.Top)
			}
		}
		n = geom.PlaneNormal(tops, n)
	}
	a.tops(m, labels, n)
	left, middle, ok := a.midline()
	if !ok {
		return nil, fmt.Errorf("%w: too few teeth stand on both sides", ErrTeeth)
	}
	up := n
	if a.Jaw == dentition.Upper {
		up = r3.Scale(-1, n)
	}
	level := kinematics.ToAxes(left, up)
	front, back, height := math.Inf(1), math.Inf(-1), 0.0
	for _, t := range a.Teeth {
		top := level.Rotate(t.Top)
		front, back, height = min(front, top.Y), max(back, level.Rotate(t.Centre).Y), height+top.Z
	}
	origin := r3.Vec{X: level.Rotate(middle).X, Y: front, Z: height / float64(len(a.Teeth))}
	a.Depth = back - front
	a.FromScan = level.Then(kinematics.Translation(r3.Scale(-1, origin)))
	for i := range a.Teeth {
		t := &a.Teeth[i]
		t.Centre, t.Top = a.FromScan.Apply(t.Centre), a.FromScan.Apply(t.Top)
	}
	a.mesh, err = m.Transform(a.FromScan.Apply)
	return a, err
}

// crowns gathers the teeth with their centres, in the frame of the scan, and the
// direction in which their surfaces face.
func (a *Arch) crowns(m *mesh.Mesh) (facing r3.Vec) {
	var sum [256]r3.Vec
	var area [256]float64
	for i, t := range a.tris {
		if t == dentition.NoTooth {
			continue
		}
		v := m.AreaVector(mesh.TriID(i))
		facing = r3.Add(facing, v)
		w := r3.Norm(v)
		p, q, r := m.Corners(mesh.TriID(i))
		sum[t], area[t] = r3.Add(sum[t], r3.Scale(w/3, r3.Add(p, r3.Add(q, r)))), area[t]+w
	}
	for t := range dentition.All {
		if area[t] >= leastCrown {
			a.Teeth = append(a.Teeth, Tooth{ID: t, Centre: r3.Scale(1/area[t], sum[t])})
		}
	}
	return facing
}

// tops finds the point of each tooth farthest along n.
func (a *Arch) tops(m *mesh.Mesh, labels *dentition.Labels, n r3.Vec) {
	var at [256]*Tooth
	var best [256]float64
	for i := range a.Teeth {
		at[a.Teeth[i].ID], best[a.Teeth[i].ID] = &a.Teeth[i], math.Inf(-1)
	}
	for v, p := range m.Vertices() {
		t := labels.Vertex(mesh.VertexID(v))
		if h := r3.Dot(p, n); at[t] != nil && h > best[t] {
			best[t], at[t].Top = h, p
		}
	}
}

// besides is the weight of teeth of both sides that are neighbours by their place in
// the row, beside the same tooth on both sides, for arches in which the same teeth
// are missing on one side only; our choice.
const besides = 0.1

// midline is the direction to the patient's left and a point of the midline, from
// teeth of both sides.
func (a *Arch) midline() (left, middle r3.Vec, ok bool) {
	sum := 0.0
	for _, r := range a.Teeth {
		for _, l := range a.Teeth {
			if r.ID.Side() != dentition.Right || l.ID.Side() != dentition.Left {
				continue
			}
			w := 0.0
			switch r.ID.Position() - l.ID.Position() {
			case 0:
				w = 1
			case 1, -1:
				w = besides
			}
			left = r3.Add(left, r3.Scale(w, r3.Sub(l.Centre, r.Centre)))
			middle = r3.Add(middle, r3.Scale(w/2, r3.Add(l.Centre, r.Centre)))
			sum += w
		}
	}
	if sum < 2*besides || r3.Norm(left) == 0 {
		return left, middle, false
	}
	return left, r3.Scale(1/sum, middle), true
}
