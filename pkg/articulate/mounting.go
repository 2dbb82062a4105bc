package articulate

import (
	"errors"

	"github.com/cusptrace/cusptrace/internal/interlock"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// mountingPoints finds the points of the average mounting on the teeth of the lower
// arch and moves them with it; nil where its teeth are not known.
func (m *pairing) mountingPoints(pose kinematics.Pose) (*findings.MountingPoints, error) {
	if m.lo.Labels == nil {
		return nil, nil
	}
	p, err := anatomy.MountingPoints(m.lo.Mesh, m.lo.Labels)
	out := &findings.MountingPoints{Incisal: p.IncisalPoint, Right: p.RightMolar, Left: p.LeftMolar}
	if errors.Is(err, anatomy.ErrNoLandmark) {
		out, err = m.guessed()
	}
	if err != nil || out == nil {
		return nil, err
	}
	out.Incisal, out.Right, out.Left = pose.Apply(out.Incisal), pose.Apply(out.Right), pose.Apply(out.Left)
	return out, nil
}

// guessed takes the tops of the anterior teeth nearest to the midline on both sides and
// of the rearmost teeth; nil where a side has none of them.
func (m *pairing) guessed() (*findings.MountingPoints, error) {
	lower := m.lower
	if len(lower.Teeth) == 0 {
		var err error
		if lower, err = interlock.FromTeeth(m.lo.Mesh, m.lo.Labels); err != nil {
			return nil, nil // no midline: there is nothing to find the points on
		}
	}
	var first, last [2]interlock.Tooth
	for _, t := range lower.Teeth {
		side := int(t.ID.Side()) - 1
		if first[side].ID == dentition.NoTooth || t.ID.Position() < first[side].ID.Position() {
			first[side] = t
		}
		if t.ID.Position() > last[side].ID.Position() && (t.ID.Type() != dentition.ThirdMolar || last[side].ID == dentition.NoTooth) {
			last[side] = t
		}
	}
	for i := range first {
		if first[i].ID == dentition.NoTooth || last[i].ID.Type().Anterior() {
			return nil, nil
		}
	}
	back := lower.FromScan.Inverse()
	front := r3.Scale(0.5, r3.Add(first[0].Top, first[1].Top))
	return &findings.MountingPoints{Incisal: back.Apply(front), Right: back.Apply(last[0].Top),
		Left: back.Apply(last[1].Top), Guessed: true}, nil
}
