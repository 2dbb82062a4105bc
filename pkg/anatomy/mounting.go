package anatomy

import (
	"errors"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// ErrNoLandmark says that a point cannot be found in a labelled arch.
var ErrNoLandmark = errors.New("landmark not found")

// Mounting is the three points on the lower arch that the average mounting
// needs, in the scan frame, mm.
type Mounting struct {
	// IncisalPoint is the midpoint of the mesio-incisal edges of 31 and 41.
	IncisalPoint r3.Vec
	// RightMolar and LeftMolar are the disto-buccal cusp tips of the second
	// molars, or of the most posterior molar where there is none.
	RightMolar, LeftMolar r3.Vec
	// Teeth names the teeth that the points were taken from: 31, 41 and the
	// right and left molar where all are there.
	Teeth [4]dentition.ToothID
}

// MountingPoints finds the points of the average mounting in a labelled lower
// arch. Teeth that are missing are an error wrapping [ErrNoLandmark], labels of
// another jaw one wrapping [ErrJaw].
func MountingPoints(m *mesh.Mesh, l *dentition.Labels) (Mounting, error) {
	if l.Jaw() != dentition.Lower {
		return Mounting{}, fmt.Errorf("%w: the points of the average mounting are on the lower arch", dentition.ErrJaw)
	}
	nets, err := Reliefs(m, l)
	if err != nil {
		return Mounting{}, err
	}
	return mountingPoints(nets)
}

// IncisalPoint finds the midpoint of the mesioincisal edges of 31 and 41 in a labelled
// lower arch, in the scan frame, mm. Errors are those of [MountingPoints].
func IncisalPoint(m *mesh.Mesh, l *dentition.Labels) (r3.Vec, error) {
	if l.Jaw() != dentition.Lower {
		return r3.Vec{}, fmt.Errorf("%w: the incisal point is on the lower arch", dentition.ErrJaw)
	}
	nets, err := Reliefs(m, l)
	if err != nil {
		return r3.Vec{}, err
	}
	return incisalPoint(nets)
}

// findRelief is the net of the first of the teeth that is there, nil where none is.
func findRelief(nets []Relief, codes ...dentition.ToothID) *Relief {
	for _, code := range codes {
		for i := range nets {
			if nets[i].Frame.Tooth == code {
				return &nets[i]
			}
		}
	}
	return nil
}

func incisalPoint(nets []Relief) (r3.Vec, error) {
	var edges [2]r3.Vec
	for i, code := range []dentition.ToothID{31, 41} {
		r := findRelief(nets, code)
		if r == nil {
			return r3.Vec{}, fmt.Errorf("%w: the incisal point needs the lower central incisors, but %v is not labelled", ErrNoLandmark, code)
		}
		var ok bool
		if edges[i], ok = r.mesioincisal(); !ok {
			return r3.Vec{}, fmt.Errorf("%w: %v shows no incisal edge", ErrNoLandmark, code)
		}
	}
	return r3.Scale(0.5, r3.Add(edges[0], edges[1])), nil
}

func mountingPoints(nets []Relief) (Mounting, error) {
	var out Mounting
	var err error
	if out.IncisalPoint, err = incisalPoint(nets); err != nil {
		return out, err
	}
	out.Teeth[0], out.Teeth[1] = 31, 41
	for i, codes := range [][]dentition.ToothID{{47, 48, 46}, {37, 38, 36}} {
		r := findRelief(nets, codes...)
		if r == nil {
			return out, fmt.Errorf("%w: the average mounting needs a lower molar on each side, but none of the %v is labelled",
				ErrNoLandmark, [2]dentition.Side{dentition.Right, dentition.Left}[i])
		}
		tip := r.rearBuccal()
		out.Teeth[2+i] = r.Frame.Tooth
		if i == 0 {
			out.RightMolar = tip
		} else {
			out.LeftMolar = tip
		}
	}
	return out, nil
}

// mesioincisal is the mesial end of the incisal edge.
func (r *Relief) mesioincisal() (r3.Vec, bool) {
	for _, s := range r.front(r.heights()) {
		if s.feature == MesioincisalEdge {
			return r.Frame.World(s.at.X, s.at.Y, s.at.Z), true
		}
	}
	return r3.Vec{}, false
}

// rearBuccal is the disto-buccal tip: where no such cusp stands out, the spot
// on the crown at its usual place.
func (r *Relief) rearBuccal() r3.Vec {
	for _, c := range r.cusps() {
		if c.feature == DistobuccalCusp {
			return r.Frame.World(c.tip.X, c.tip.Y, c.tip.Z)
		}
	}
	for _, u := range usualCusps(r.Frame.Tooth) {
		if u.feature == DistobuccalCusp {
			p := r.usualSpot(u)
			return r.Frame.World(p.X, p.Y, p.Z)
		}
	}
	return r.Frame.Centre
}

// usualSpot is the vertex above the usual place of a cusp.
func (r *Relief) usualSpot(u usualCusp) r3.Vec {
	lo, hi := r.extent()
	x, y := (lo.X+hi.X)/2+u.at.X*(hi.X-lo.X)/2, (lo.Y+hi.Y)/2+u.at.Y*(hi.Y-lo.Y)/2
	best, cost := r.Points[0], math.Inf(1)
	for _, p := range r.Points {
		// Walls lie below the table, so height counts against distance.
		if c := math.Hypot(p.X-x, p.Y-y) - p.Z; c < cost {
			best, cost = p, c
		}
	}
	return best
}
