package inspect

import (
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Service says which arch a surface can stand for.
type Service string

// What a surface can serve as, as far as its shape says.
const (
	ServesUpper   Service = "upper"
	ServesLower   Service = "lower"
	ServesEither  Service = "either"  // an arch; which of the two cannot be told
	ServesNeither Service = "neither" // no whole arch
)

// Facing says where the normals of a surface point.
type Facing string

// Directions of normals.
const (
	FacingOutward Facing = "outward"
	FacingInward  Facing = "inward"
	FacingUnknown Facing = "cannot tell"
)

// ArchReport says whether a surface can serve as the scan of an upper or lower
// arch, from geometry alone.
//
// A scan of an arch is open on the side of the gums. The sum of the area
// vectors of an open surface depends on its border only and points away from
// the opening: to the chewing side, if the normals point outward. They do if
// the surface lies on that side of its borders, which is checked. An arch whose
// teeth face −z is an upper one where z points to the patient's head, as in
// the axes of DICOM (LPS) and in RAS; in other axes the shape alone does not
// tell upper from lower, labels or the person must.
type ArchReport struct {
	ServesAs Service `json:"serves_as"`
	// OcclusalSide is the axis nearest to the direction the teeth face, such
	// as "-z"; empty where it cannot be told.
	OcclusalSide      string     `json:"occlusal_side"`
	OcclusalDirection [3]float64 `json:"occlusal_direction"` // unit vector; zero where it cannot be told
	Normals           Facing     `json:"normals"`
	Reasons           []string   `json:"reasons"`
}

// Shares from which a shape is taken as telling; our choices. Cast-like arches
// have an opening of a fifth to a quarter of the surface's area, and lie a tenth of
// their largest side off its border.
const (
	openShare  = 0.05 // opening to area; below, the surface is closed or has only holes
	depthShare = 0.05 // distance of the surface's middle from its borders' to the largest side
)

// Arch is the part of [Surface] that says which arch a surface can be.
func Arch(t *mesh.Topology) ArchReport {
	a := ArchReport{ServesAs: ServesNeither, Normals: FacingUnknown, Reasons: []string{}}
	say := func(format string, args ...any) { a.Reasons = append(a.Reasons, fmt.Sprintf(format, args...)) }
	area, sum, middle := moments(t)
	if area == 0 {
		say("it has no surface")
		return a
	}
	size := surfaceBox(t.Mesh()).Size()
	largest := max(size.X, size.Y, size.Z)
	if largest < archPossibleMin || largest > archPossibleMax {
		say("its largest side is %.4g mm, a whole dental arch has %d to %d mm", largest, archUsualMin, archUsualMax)
		return a
	}
	a.ServesAs = ServesEither
	opening := r3.Norm(sum)
	switch {
	case len(t.Loops()) == 0:
		say("it is closed: no open side shows where the teeth face")
		return a
	case opening < openShare*area:
		say("it has holes, but no open side that would show where the teeth face")
		return a
	}
	direction := r3.Scale(1/opening, sum)
	switch depth := r3.Dot(r3.Sub(middle, borderMiddle(t)), direction); {
	case depth > depthShare*largest:
		a.Normals = FacingOutward
	case depth < -depthShare*largest:
		a.Normals = FacingInward
		direction = r3.Scale(-1, direction)
		say("its normals point inward: every triangle is turned over")
	default:
		say("its borders run at the height of the surface, so that its normals are trusted to point outward")
	}
	a.OcclusalDirection = triple(direction)
	facing, open, along := nearestAxis(direction)
	a.OcclusalSide = facing
	if along < math.Sqrt2/2 {
		facing = ""
	}
	switch facing {
	case "-z":
		a.ServesAs = ServesUpper
		say("it is open on the %s side, so its teeth face %s: an upper arch, if z points to the head", open, facing)
	case "+z":
		a.ServesAs = ServesLower
		say("it is open on the %s side, so its teeth face %s: a lower arch, if z points to the head", open, facing)
	default:
		say("its teeth face nearest to %s, which does not tell upper from lower", a.OcclusalSide)
	}
	return a
}

// moments is the area in mm², the sum of the area vectors, each turned as the
// majority around it, and the area-weighted middle.
func moments(t *mesh.Topology) (area float64, sum, middle r3.Vec) {
	for i, c := range t.Mesh().Triangles() {
		v := t.Mesh().AreaVector(mesh.TriID(i))
		w := r3.Norm(v)
		area += w
		if t.Flipped(mesh.TriID(i)) {
			v = r3.Scale(-1, v)
		}
		sum = r3.Add(sum, v)
		for _, k := range c {
			middle = r3.Add(middle, r3.Scale(w/3, t.Mesh().Vertex(k)))
		}
	}
	if area > 0 {
		middle = r3.Scale(1/area, middle)
	}
	return area, sum, middle
}

// borderMiddle is the mean of the middles of all border edges, weighted by
// their lengths.
func borderMiddle(t *mesh.Topology) r3.Vec {
	var sum r3.Vec
	total := 0.0
	for i := range t.Edges() {
		if e := &t.Edges()[i]; e.Sides == 1 {
			l := t.EdgeLength(mesh.EdgeID(i))
			sum = r3.Add(sum, r3.Scale(l/2, r3.Add(t.Mesh().Vertex(e.V[0]), t.Mesh().Vertex(e.V[1]))))
			total += l
		}
	}
	if total > 0 {
		sum = r3.Scale(1/total, sum)
	}
	return sum
}

// nearestAxis names the axis nearest to a unit vector, the opposite one, and
// the cosine of the angle between.
func nearestAxis(d r3.Vec) (name, opposite string, along float64) {
	for k, c := range triple(d) {
		if math.Abs(c) > along {
			along = math.Abs(c)
			name, opposite = "+"+"xyz"[k:k+1], "-"+"xyz"[k:k+1]
			if c < 0 {
				name, opposite = opposite, name
			}
		}
	}
	return name, opposite, along
}
