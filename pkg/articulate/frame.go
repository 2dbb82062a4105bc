package articulate

import (
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
	"github.com/cusptrace/cusptrace/pkg/settle"
	"gonum.org/v1/gonum/spatial/r3"
)

// archFrame is where an arch stands in its scan: a frame with x to the patient's
// left, y to posterior and z to superior, in the occlusal plane, with its origin
// at the front of the midline.
type archFrame struct {
	fromScan kinematics.Pose
	width    float64 // between the ends of the arch, mm
	depth    float64 // from the line through the ends to the front, mm
}

// crownDepth is how far from the occlusal plane, in mm, a surface counts as teeth
// where the outline of an arch is sought; crowns are 7 to 11 mm high.
const crownDepth = 4.0

// newArchFrame finds the frame of an arch from its shape. The side to which the
// scan is closed is that of the teeth; the occlusal plane is that of a flat plate
// laid on them. Seen along it, the teeth form a horseshoe: the longest side of the
// convex hull around it joins the ends of the arch, and the front lies on the
// other side.
func newArchFrame(m *mesh.Mesh, upper bool) (archFrame, error) {
	r := inspect.Arch(mesh.BuildTopology(m))
	o := r3.Vec{X: r.OcclusalDirection[0], Y: r.OcclusalDirection[1], Z: r.OcclusalDirection[2]}
	if r.ServesAs == inspect.ServesNeither || r3.Norm(o) == 0 {
		why := "its shape does not say"
		if len(r.Reasons) > 0 {
			why = r.Reasons[0]
		}
		return archFrame{}, fmt.Errorf("%w: it cannot be told to which side its teeth face: %s", settle.ErrArch, why)
	}
	// The plate is laid on with the teeth up; twice, since the first guess leans.
	level := kinematics.ToAxes(r3.Cross(settle.Pick(o), o), o)
	for range 2 {
		verts := make([]r3.Vec, m.NumVertices())
		for i, v := range m.Vertices() {
			verts[i] = level.Rotate(v)
		}
		n, err := settle.LayPlate(verts)
		if err != nil {
			return archFrame{}, fmt.Errorf("%w: %w", settle.ErrArch, err)
		}
		level = level.Then(kinematics.ToAxes(r3.Cross(r3.Vec{Y: 1}, n), n))
	}
	top := math.Inf(-1)
	for _, v := range m.Vertices() {
		top = max(top, level.Rotate(v).Z)
	}
	var flat []r3.Vec
	for _, v := range m.Vertices() {
		if p := level.Rotate(v); p.Z > top-crownDepth {
			flat = append(flat, p)
		}
	}
	h := settle.Hull(flat)
	if len(h) < 3 {
		return archFrame{}, fmt.Errorf("%w: its teeth form no outline", settle.ErrArch)
	}
	var a, b r3.Vec
	longest := 0.0
	for i, p := range h {
		q := h[(i+1)%len(h)]
		if d := math.Hypot(q.X-p.X, q.Y-p.Y); d > longest {
			a, b, longest = p, q, d
		}
	}
	// The hull runs counter-clockwise: the inside, and so the front, lies left of
	// the way from a to b.
	along := r3.Scale(1/longest, r3.Vec{X: b.X - a.X, Y: b.Y - a.Y})
	forward := r3.Vec{X: -along.Y, Y: along.X}
	depth := 0.0
	for _, p := range h {
		depth = max(depth, r3.Dot(r3.Sub(p, a), forward))
	}
	f := archFrame{width: longest, depth: depth}
	if depth < longest/4 {
		return f, fmt.Errorf("%w: its outline, %.3g by %.3g mm, has no curved front", settle.ErrArch, longest, depth)
	}
	origin := r3.Add(r3.Scale(0.5, r3.Add(a, b)), r3.Scale(depth, forward))
	origin.Z = top
	// With the teeth up, x to the patient's left and y back make a right-handed
	// frame of the lower arch; the upper one is turned over about the midline.
	z := r3.Vec{Z: 1}
	if upper {
		z.Z = -1
	}
	y := r3.Scale(-1, forward)
	turn := kinematics.ToAxes(r3.Cross(y, z), z)
	f.fromScan = level.Then(kinematics.Translation(r3.Scale(-1, origin))).Then(turn)
	return f, nil
}
