package frames

import (
	"errors"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Lingual says whether spots p of an upper and q of a lower tooth under a pose lie on
// the lingual half of their teeth, where lingual cusps of the working side meet.
func (e *Setup) Lingual(pose kinematics.Pose, upper, lower dentition.ToothID, p, q r3.Vec) bool {
	up, ok1 := e.Casts.Upper.Frames[upper]
	lo, ok2 := e.Casts.Lower.Frames[lower]
	if !ok1 || !ok2 {
		return false
	}
	_, upB, _ := up.Local(p)
	_, loB, _ := lo.Local(pose.Inverse().Apply(q))
	return upB < 0 && loB < 0
}

// middle is the middle of a triangle.
func middle(m *mesh.Mesh, t mesh.TriID) r3.Vec {
	a, b, c := m.Corners(t)
	return r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
}

// Unhindered closes the casts at a station where touch stops them: without back
// teeth that should not carry in a movement with a working side and, if asked, also
// without lingual cusps of that side. It is nil where nothing else
// touches; other errors are those of the closing.
func (e *Setup) Unhindered(st kinematics.Station, working dentition.Side, touch *contact.Closing, lingual bool,
	s *contact.CloserScratch) (*findings.Unhindered, error) {
	up, lo := e.Casts.Upper, e.Casts.Lower
	region := func(u, l dentition.ToothID) Region { return RegionOf(working, findings.Part(u), findings.Part(l)) }
	passing := contact.Passing{Parts: func(u, l int32) bool { return !region(up.OfPart(u), lo.OfPart(l)).Desired() }}
	if lingual {
		passing.Triangles = func(u, l mesh.TriID) bool {
			a, b := up.Tooth(u), lo.Tooth(l)
			return region(a, b) == WorkingBack &&
				e.Lingual(touch.Pose, a, b, middle(up.Mesh(), u), touch.Pose.Apply(middle(lo.Mesh(), l)))
		}
	}
	free, err := e.Casts.Closer.CloseWithout(st.Base(), passing, s)
	switch {
	case errors.Is(err, contact.ErrNoTouch):
		return nil, nil
	case err != nil:
		return nil, err
	}
	return &findings.Unhindered{
		OpeningDeg: free.Opening.Degrees(), IncisalPoint: e.Incisal(free.Pose),
		HeightUm: 1000 * way(touch, st, float64(max(0, touch.Opening-free.Opening))),
	}, nil
}
