// Package testcase makes a small case of two facing arches for tests of the
// whole way from files to findings. It is no dentition: each arch is a strip
// of cusps whose stops are known in closed form.
//
// Lengths are mm. The arches stand in intercuspation in the axes of the articulator frame
// (x to the patient's left, y to the back, z up), mirrored about x = 0.
package testcase

import (
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"

	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
)

// Teeth is the number of teeth on each side of each arch.
const Teeth = 7

// Arch is half an ellipse.
const (
	halfWidth, depth = 26.0, 40.0 // of the middle line
	halfThick        = 4.0        // from the middle line to the border
	cuspHigh         = 1.0        // of posterior teeth, groove to tip
	edgeHigh         = 3.0        // of anterior teeth, border to edge
	gum              = 0.85       // the strip beyond this share of halfThick is no tooth
)

// Arches are two arches in intercuspation. They touch in one point a pair of teeth, the
// same vertex of both meshes, and are apart everywhere else.
type Arches struct {
	Upper, Lower             *mesh.Mesh
	UpperLabels, LowerLabels *dentition.Labels
	// Stops are the touching points from the right second molars, 17 and 47, to
	// the left ones.
	Stops [2 * Teeth]r3.Vec
	// Incisal, Right and Left are the points of the average mounting, on the
	// lower arch.
	Incisal, Right, Left r3.Vec
}

// New makes the arches, fine by 2·fine cells a tooth, 56·fine² triangles an
// arch. fine is a multiple of 4, which puts the stops on vertices.
func New(fine int) *Arches {
	if fine < 4 || fine%4 != 0 {
		panic("testcase: fine is a multiple of 4")
	}
	nu, nv := 2*Teeth*fine, 2*fine
	sheet := func(gap float64) *mesh.Mesh {
		return testmesh.Sheet(nu, nv, func(u, v float64) r3.Vec { return at(Teeth*(2*u-1), 2*v-1, gap) })
	}
	a := &Arches{
		Upper: sheet(1), Lower: testmesh.Turned(sheet(0)),
		Incisal: at(0, 0, 0), Right: at(-Teeth+0.25, 0.5, 0), Left: at(Teeth-0.25, 0.5, 0),
	}
	for i := range a.Stops {
		u := float64(i-Teeth) + 0.5
		a.Stops[i] = at(u, stop(u), 0)
	}
	a.UpperLabels, a.LowerLabels = labels(a.Upper, nu, nv, dentition.Upper), labels(a.Lower, nu, nv, dentition.Lower)
	return a
}

// at is the point u teeth left of the midline and v half thicknesses outward of
// the middle line, on the lower arch, or with gap = 1 on the upper one. It is
// rounded as an STL file rounds.
func at(u, v, gap float64) r3.Vec {
	s, c := math.Sincos(math.Pi / 2 * u / Teeth)
	out := r3.Unit(r3.Vec{X: depth * s, Y: -halfWidth * c})
	p := r3.Add(r3.Vec{X: halfWidth * s, Y: -depth * c}, r3.Scale(halfThick*v, out))
	p.Z = float64(float32(height(u, v)))
	if gap != 0 {
		p.Z = float64(float32(p.Z + gap*apart(u, v)))
	}
	return r3.Vec{X: float64(float32(p.X)), Y: float64(float32(p.Y)), Z: p.Z}
}

// front is 1 at the anterior teeth, 0 at the back ones.
func front(u float64) float64 {
	x := min(max(3.25-math.Abs(u), 0)*2, 1)
	return x * x * (3 - 2*x)
}

// height is that of the lower arch: an edge in front, a row of cusps on each
// side of a groove behind.
func height(u, v float64) float64 {
	along := 0.75 - 0.25*math.Cos(2*math.Pi*u)
	edge := edgeHigh * (0.5 + 0.5*math.Cos(math.Pi*v)) * (0.9 + 0.1*along)
	cusps := edgeHigh/2 - cuspHigh/2*along*math.Cos(2*math.Pi*v) - 2*v*v*v*v
	f := front(u)
	return f*edge + (1-f)*cusps
}

// stop is where across the arch a tooth touches: on the outer slope of the edge
// in front, on the outer cusp behind.
func stop(u float64) float64 {
	if math.Abs(u) < 3 {
		return 0.25
	}
	return 0.5
}

// apart is the height of the upper arch above the lower one, 0 at the stops and
// nowhere else.
func apart(u, v float64) float64 {
	tooth := math.Floor(u) + 0.5
	if u == Teeth {
		tooth--
	}
	du := 3 * (u - tooth)
	dv := halfThick * (v - (0.25*front(u) + 0.5*(1-front(u))))
	r := du*du + dv*dv
	return 2 * r / (r + 2 + 30*front(u))
}

// labels labels the vertices of a sheet in the order in which an STL file has
// them.
func labels(m *mesh.Mesh, nu, nv int, jaw dentition.Jaw) *dentition.Labels {
	seen := make([]bool, m.NumVertices())
	var of []dentition.ToothID
	for _, t := range m.Triangles() {
		for _, id := range t {
			if seen[id] {
				continue
			}
			seen[id] = true
			i, j := int(id)%(nu+1), int(id)/(nu+1)
			tooth := dentition.NoTooth
			if math.Abs(2*float64(j)/float64(nv)-1) < gum {
				tooth = toothAt(Teeth*(2*float64(i)/float64(nu)-1), jaw)
			}
			of = append(of, tooth)
		}
	}
	l, err := dentition.NewLabels(jaw, of)
	if err != nil {
		panic("testcase: " + err.Error())
	}
	return l
}

func toothAt(u float64, jaw dentition.Jaw) dentition.ToothID {
	quadrant := map[dentition.Jaw][2]int{dentition.Upper: {1, 2}, dentition.Lower: {4, 3}}[jaw]
	side := 0
	if u >= 0 {
		side = 1
	}
	return dentition.ToothID(10*quadrant[side] + min(int(math.Abs(u))+1, Teeth))
}

// Case is the case of the arches, with their labels and mounting points, the
// relation kept as it is, three movements of 4 mm in steps of 0.25 mm.
func (a *Arches) Case() *casefile.Case {
	c := casefile.Default()
	c.Name = "two strips of cusps"
	c.Upper = casefile.Arch{Scan: "upper.stl", Labels: "upper.labels.json"}
	c.Lower = casefile.Arch{Scan: "lower.stl", Labels: "lower.labels.json"}
	point := func(v r3.Vec) *casefile.Point { return &casefile.Point{v.X, v.Y, v.Z} }
	m := c.Mount.Average
	m.IncisalPoint, m.RightMolar, m.LeftMolar = point(a.Incisal), point(a.Right), point(a.Left)
	c.Settle = casefile.Settle{How: casefile.SettleNone}
	for i := range c.Excursions {
		c.Excursions[i].MaxMM, c.Excursions[i].StepMM = 4, 0.25
	}
	return c
}

// Write writes the scans, the labels and a case file into a folder and returns
// the path of the case file. edit, if not nil, changes the case before.
func (a *Arches) Write(dir string, edit func(*casefile.Case)) (string, error) {
	c := a.Case()
	if edit != nil {
		edit(c)
	}
	for name, m := range map[string]*mesh.Mesh{"upper.stl": a.Upper, "lower.stl": a.Lower} {
		if err := meshfile.WriteFile(filepath.Join(dir, name), m, nil); err != nil {
			return "", err
		}
	}
	for name, l := range map[string]*dentition.Labels{"upper.labels.json": a.UpperLabels, "lower.labels.json": a.LowerLabels} {
		if err := write(filepath.Join(dir, name), l.Write); err != nil {
			return "", err
		}
	}
	path := filepath.Join(dir, "case.yaml")
	return path, write(path, func(w io.Writer) error { return casefile.Write(w, c) })
}

func write(path string, content func(io.Writer) error) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	return errors.Join(content(f), f.Close())
}
