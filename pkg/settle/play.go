package settle

import (
	"context"
	"fmt"

	"github.com/cusptrace/cusptrace/internal/qp"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

// playRise is how far the casts are let rise against the force, mm.
const playRise = 0.01

// play measures how far the lower cast can go from its rest in each direction of
// the horizontal plane, and turn in it, when it may rise by playRise: linear
// programs on the gaps around the seat.
func (s *Seat) play(ctx context.Context, a pressing, pose kinematics.Pose) ([]findings.Play, error) {
	g, err := s.Feel.Feel(ctx, s.Frame, pose, 1.5*findings.PlayMost)
	if err != nil {
		return nil, err
	}
	var out []findings.Play
	for _, dir := range []struct {
		name findings.Direction
		axis int
		sign float64
	}{
		{findings.PlayRight, 0, -1}, {findings.PlayLeft, 0, 1}, {findings.PlayBack, 1, 1}, {findings.PlayForward, 1, -1},
		{findings.PlayTurnRight, 5, -1}, {findings.PlayTurnLeft, 5, 1},
	} {
		var unit kinematics.Twist
		unit[dir.axis] = 1
		scale := 1 / kinematics.NormIn(&s.Metric, unit)
		p := a.program(pose, 1e4)
		rise := make([]float64, 6)
		copy(rise, p.G) // the potential's gradient; it may grow by playRise at most
		for i := range p.G {
			p.G[i] = 0
		}
		p.G[dir.axis] = -dir.sign
		for i := range rise {
			rise[i] = -rise[i]
		}
		p.A, p.B = append(p.A, rise...), append(p.B, -playRise)
		for i := range 6 {
			for _, sign := range [2]float64{1, -1} {
				row := make([]float64, 6)
				row[i] = sign
				p.A, p.B = append(p.A, row...), append(p.B, -findings.PlayMost*scale)
			}
		}
		for i, r := range g.Rows {
			p.A, p.B = append(p.A, r[:]...), append(p.B, -max(g.D[i], 0))
		}
		sol, err := qp.Solve(p)
		if err != nil {
			return nil, fmt.Errorf("play: %w", err)
		}
		out = append(out, findings.Play{Direction: dir.name, Um: 1000 * min(findings.PlayMost, dir.sign*sol.X[dir.axis]/scale)})
	}
	return out, nil
}
