package trial

import (
	"context"
	"errors"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/trial/internal/surface"
	"gonum.org/v1/gonum/spatial/r3"
)

// ErrTable says that no guide table can be made.
var ErrTable = errors.New("no guide table")

// All are our choice.
const (
	// tableStep is the travel of the condyles between two positions of the pin that are closed,
	// tableFar how far it goes where edge-to-edge is not known, mm.
	tableStep = 0.2
	tableFar  = 4.0
	// tableLeast is the fewest steps to each side.
	tableLeast = 3
	// tableBetween is how many positions lie between two that are closed, on the straight lines
	// between them.
	tableBetween = 6
	// tableGrid is the distance of the points of the table, tableRim the width of the rim
	// around what the pin reaches, mm.
	tableGrid = 0.1
	// tableMost is the longest way of the pin, mm.
	tableMost = 40.0
	tableRim  = 2.0
	// pinLeast and pinMost are the radii of pins that a table is made for, mm.
	pinLeast = 0.25
	pinMost  = 10.0
	// tableSteep is the slope from which on the ball is carved as the cone that touches it there,
	// about 72°: no guidance is as steep, and a grid has no walls.
	tableSteep = 3.0
)

// GuideTable is the table on which an incisal pin slides as the teeth guide the casts: a block
// with a base, closed, to be printed and fixed to the lower cast, in the frame of the scans
// (mm). The pin is fixed to the upper cast and ends in a ball (radius 0.25 to 10 mm) about tip,
// in the frame of the scans as the casts are closed.
//
// The table is what the ball leaves of the block in all positions between right and left lateral
// movement and protrusion, up to edge-to-edge, in each of which the casts close until teeth meet.
// The error wraps [ErrTable] for a pin of another size, and where the teeth meet nearly nowhere.
func GuideTable(ctx context.Context, x *Examined, tip r3.Vec, radius float64) (*mesh.Mesh, error) {
	if !(radius >= pinLeast && radius <= pinMost) {
		return nil, fmt.Errorf("%w: the ball of the pin has a radius of %g mm, must be %g to %g", ErrTable, radius, pinLeast, pinMost)
	}
	if err := mesh.CheckPoint(tip); err != nil {
		return nil, fmt.Errorf("%w: the tip of the pin: %w", ErrTable, err)
	}
	path, err := pinPath(ctx, x, tip)
	if err != nil {
		return nil, err
	}
	if size := boxOf(path).Size(); max(size.X, size.Y) > tableMost {
		return nil, fmt.Errorf("%w: the tip of the pin would move by %.0f mm, at most %g can be printed; it is too far from the casts",
			ErrTable, max(size.X, size.Y), tableMost)
	}
	top, err := newBlock(path, radius).surface()
	if err != nil {
		return nil, err
	}
	block, err := surface.Closed(top, r3.Vec{Z: -1}, baseMM)
	if err != nil {
		return nil, err
	}
	return block.Transform(x.Casts.Mount.Then(x.Casts.Settling.Pose.Pose).Inverse().Apply)
}

// block is the heights of a table over a grid, in the articulator frame.
type block struct {
	x, y   float64 // of the first point
	across int     // points along x
	height []float64
}

func boxOf(path [][]r3.Vec) mesh.Box {
	b := mesh.EmptyBox()
	for _, row := range path {
		for _, p := range row {
			b = b.Include(p)
		}
	}
	return b
}

// newBlock carves a ball out of a block in all positions of a square of them.
func newBlock(path [][]r3.Vec, radius float64) *block {
	b := boxOf(path)
	margin := radius + (b.Max.Z-b.Min.Z)/tableSteep + tableRim
	rim := b.Max.Z - radius
	out := &block{x: b.Min.X - margin, y: b.Min.Y - margin, across: 1 + int((b.Max.X-b.Min.X+2*margin)/tableGrid)}
	out.height = make([]float64, out.across*(1+int((b.Max.Y-b.Min.Y+2*margin)/tableGrid)))
	for i := range out.height {
		out.height[i] = rim
	}
	for i := range len(path) - 1 {
		for k := range len(path) - 1 {
			for u := range tableBetween + 1 {
				for v := range tableBetween + 1 {
					f, g := float64(u)/tableBetween, float64(v)/tableBetween
					near := r3.Add(r3.Scale(1-g, path[i][k]), r3.Scale(g, path[i][k+1]))
					far := r3.Add(r3.Scale(1-g, path[i+1][k]), r3.Scale(g, path[i+1][k+1]))
					out.carve(r3.Add(r3.Scale(1-f, near), r3.Scale(f, far)), radius, rim)
				}
			}
		}
	}
	return out
}

// carve takes a ball about c away, up to the rim.
func (b *block) carve(c r3.Vec, radius, rim float64) {
	// The cone touches the ball at a distance of touch from its axis.
	touch := radius * tableSteep / math.Hypot(1, tableSteep)
	foot := c.Z - math.Sqrt(radius*radius-touch*touch)
	reach := touch + max(0, rim-foot)/tableSteep
	for j := int(math.Ceil((c.Y - reach - b.y) / tableGrid)); b.y+float64(j)*tableGrid <= c.Y+reach; j++ {
		dy := b.y + float64(j)*tableGrid - c.Y
		for i := int(math.Ceil((c.X - reach - b.x) / tableGrid)); b.x+float64(i)*tableGrid <= c.X+reach; i++ {
			dx := b.x + float64(i)*tableGrid - c.X
			sq, z := dx*dx+dy*dy, 0.0
			switch {
			case sq <= touch*touch:
				z = c.Z - math.Sqrt(radius*radius-sq)
			case sq <= reach*reach:
				z = foot + tableSteep*(math.Sqrt(sq)-touch)
			default:
				continue
			}
			at := &b.height[j*b.across+i]
			*at = min(*at, z)
		}
	}
}

// surface is the top of the block.
func (b *block) surface() (*mesh.Mesh, error) {
	n := len(b.height) / b.across
	verts := make([]r3.Vec, len(b.height))
	for i, z := range b.height {
		verts[i] = r3.Vec{X: b.x + float64(i%b.across)*tableGrid, Y: b.y + float64(i/b.across)*tableGrid, Z: z}
	}
	var tris [][3]mesh.VertexID
	for j := range n - 1 {
		for i := range b.across - 1 {
			v := mesh.VertexID(j*b.across + i)
			up := v + mesh.VertexID(b.across)
			tris = append(tris, [3]mesh.VertexID{v, v + 1, up}, [3]mesh.VertexID{v + 1, up + 1, up})
		}
	}
	return mesh.Adopt(verts, tris)
}

// pinPath is where a pin that is fixed to the upper cast stands over the lower one in a square
// of positions, the right condyle going forward from row to row and the left one from column to
// column, in the articulator frame.
func pinPath(ctx context.Context, x *Examined, tip r3.Vec) ([][]r3.Vec, error) {
	set, err := x.Case.Settings.Kinematics()
	if err != nil {
		return nil, err
	}
	far := tableFar
	for i := range x.Findings.Excursions {
		if g := x.Findings.Excursions[i].Guidance; x.Findings.Excursions[i].Movement == findings.Protrusive && g != nil && g.EdgeToEdgeMM != nil {
			far = *g.EdgeToEdgeMM
		}
	}
	side := 1 + int(far/tableStep)
	pin := x.Casts.Mount.Apply(tip)
	grid := make([][]r3.Vec, side)
	var s contact.CloserScratch
	for i := range grid {
		for k := range side {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			st, err := set.Between(float64(i)*tableStep, float64(k)*tableStep)
			if err != nil {
				return nil, err
			}
			touch, err := x.Casts.Closer.Close(st.Base(), &s)
			if errors.Is(err, contact.ErrNoTouch) { // the square ends before here
				side = min(side, max(i, k))
				break
			}
			if err != nil {
				return nil, err
			}
			grid[i] = append(grid[i], touch.Pose.Inverse().Apply(pin))
		}
	}
	if side <= tableLeast {
		return nil, fmt.Errorf("%w: the casts meet over less than %.1f mm of the movements", ErrTable, tableLeast*tableStep)
	}
	grid = grid[:side]
	for i := range grid {
		grid[i] = grid[i][:side]
	}
	return grid, nil
}
