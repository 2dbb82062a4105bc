package articulate

import (
	"context"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/internal/portable"
	"github.com/cusptrace/cusptrace/internal/qp"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/settle"
)

// fitErrorUm is the error, in µm, of a gap between two scanned arches in a scanned
// bite: the root sum of squares of 25, 25 and 50, 61, in round
// numbers (intraoral scans; trueness of full
// arches: PMC8303663; of bites: Kakali and Halazonetis 2023, Korean J Orthod
// 53:254-263).
const fitErrorUm = 60.0

// fitWidths are the gaps, in mm, that count most in the best fit: wide ones first,
// so that it finds its way, and then twice the error of a gap.
var fitWidths = [...]float64{0.3, 2 * fitErrorUm / 1000}

// fitFirst is how far the first look may lead from the place of the search, mm.
const fitFirst = 0.6

// Of the best fit: the gaps that are looked at, as multiples of the width, beyond
// which what is left of their worth, 0.2 %, does not show; its longest step,
// mm, and the share of the width at which a step is the last; and how many steps
// there may be for each width.
const (
	fitBand      = 4.0
	fitStepMost  = 0.1
	fitStepLeast = 2e-4
	fitSteps     = 60
)

// nearness is the worth of a gap of x widths, with its first two derivatives: most,
// 1, at one width, soon nothing beyond, and below it falling to nothing at touch, from
// where overlap takes away in proportion.
//
// That it goes straight through nothing at touch makes the fit fair. Where curved
// surfaces rest on each other there is as much area for every gap from touch on and
// none below; errors of the scans blur that edge, to both sides alike, and the worth
// of what is blurred adds up to nothing just where the edge was. So errors that pull
// some peaks into overlap are made up for by the hollows beside them, and average
// out over all the contacts, where a rigid rest stands on the highest few.
func nearness(x float64) (value, slope, bend float64) {
	if x <= 0 {
		s := math.Sqrt(math.E)
		return s * x, s, 0
	}
	e := portable.Exp((1 - x*x) / 2)
	return x * e, (1 - x*x) * e, x * (x*x - 3) * e
}

// fit brings the lower arch, from near, to where both arches are nearest to each
// other over all of their surfaces. A narrow look may not lead farther away than
// what the wider one before it can tell apart; where it does, the surfaces are not
// true enough for it, and the wider one stands.
func fit(s *settle.Seat, ctx context.Context, pose kinematics.Pose) (kinematics.Pose, error) {
	f := fitter{Seat: s, ofLower: settle.VertexAreas(s.Lo.Mesh()), ofUpper: settle.VertexAreas(s.Up.Mesh())}
	within := fitFirst
	for _, width := range fitWidths {
		next, ok, err := f.climb(ctx, pose, width, within)
		if err != nil || !ok {
			return pose, err
		}
		pose, within = next, width
	}
	return pose, nil
}

// fitter sums nearness over both arches.
type fitter struct {
	*settle.Seat
	ofLower, ofUpper []float64 // areas of vertices, mm²
}

// climb goes to the local maximum of nearness by damped Newton steps (Levenberg
// 1944, Q Appl Math 2:164-168), unless that leads farther away than within, mm.
func (f *fitter) climb(ctx context.Context, from kinematics.Pose, width, within float64) (pose kinematics.Pose, ok bool, err error) {
	pose = from
	now, p, err := f.look(ctx, pose, width)
	if err != nil {
		return pose, false, err
	}
	damp := 1.0
	for range fitSteps {
		damped := qp.Problem{H: make([]float64, 36), G: p.G}
		for i, h := range p.H {
			damped.H[i] = h + damp*f.Metric[i]
		}
		sol, err := qp.Solve(&damped)
		if err != nil {
			return pose, false, fmt.Errorf("best fit: %w", err)
		}
		x := kinematics.Twist(sol.X)
		size := kinematics.NormIn(&f.Metric, x)
		if size > fitStepMost {
			for i := range x {
				x[i] *= fitStepMost / size
			}
		}
		next := pose.Then(f.Frame.Pose(x))
		then, q, err := f.look(ctx, next, width)
		if err != nil {
			return pose, false, err
		}
		if then < now {
			pose, now, p = next, then, q
			if kinematics.NormIn(&f.Metric, f.Frame.Of(from.Inverse().Then(pose))) > within {
				return from, false, nil
			}
			damp = max(damp/4, 1e-3)
		} else {
			damp *= 8
		}
		if size < fitStepLeast*width {
			break
		}
	}
	return pose, true, nil
}

// look is the nearness under a pose with its sign changed, which is to be made
// small, and its gradient and a positive part of its second derivatives in twists.
func (f *fitter) look(ctx context.Context, pose kinematics.Pose, width float64) (float64, *qp.Problem, error) {
	g, err := f.Feel.Feel(ctx, f.Frame, pose, fitBand*width)
	if err != nil {
		return 0, nil, err
	}
	sum, p := 0.0, &qp.Problem{H: make([]float64, 36), G: make([]float64, 6)}
	for i, at := range g.At {
		area := f.ofUpper
		if at.Lower == mesh.None {
			area = f.ofLower
		}
		w := area[at.Vertex]
		v, slope, bend := nearness(g.D[i] / width)
		sum -= w * v
		row := &g.Rows[i]
		for j, a := range row {
			p.G[j] -= w * slope / width * a
			if bend < 0 {
				for k := range j + 1 {
					p.H[6*j+k] -= w * bend / (width * width) * a * row[k]
				}
			}
		}
	}
	return sum, p, nil
}
