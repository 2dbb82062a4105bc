package frames

import (
	"fmt"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
)

// Setup is the casts, the settings by which they move and what is measured on
// them.
type Setup struct {
	Case    *casefile.Case
	Casts   *casts.Casts
	Set     kinematics.Settings
	Guide   kinematics.Guidance // nil: by teeth
	Foils   []findings.Foil
	FoilsMM []float64
}

// NewSetup prepares what the positions of all movements share.
func NewSetup(c *casefile.Case, pair *casts.Casts, set kinematics.Settings, foils []findings.Foil) *Setup {
	e := &Setup{Case: c, Casts: pair, Set: set, Foils: foils}
	for _, f := range foils {
		e.FoilsMM = append(e.FoilsMM, f.MM())
	}
	return e
}

// A copy of both casts with what is searched takes about copyBytes a triangle; all that are
// made at a time take at most copiesMost bytes, so that large scans do not need more memory
// the more cores there are.
const (
	copyBytes  = 130
	copiesMost = 512 << 20
)

// Copies is the number of goroutines, of as many as are asked for (0: one a processor), that
// may each hold a copy of the casts.
func (e *Setup) Copies(asked int) int {
	bytes := copyBytes * (e.Casts.Upper.Mesh().NumTriangles() + e.Casts.Lower.Mesh().NumTriangles())
	return max(1, min(par.Workers(asked), copiesMost/max(1, bytes)))
}

// Guidance is what guides the lower arch as the case says; nil where the teeth do.
func Guidance(g *casefile.Guidance, pair *casts.Casts) (kinematics.Guidance, error) {
	switch g.By {
	case casefile.ByTable:
		if pair.Incisal == nil {
			return nil, fmt.Errorf("%w: guidance by an incisal table needs landmarks.incisal_point", casts.ErrLandmarks)
		}
		return kinematics.IncisalTable{IncisalPoint: *pair.Incisal, Inclination: Degrees(g.InclinationDeg),
			Wings: Degrees(g.WingsDeg), Pin: g.PinMM}, nil
	case casefile.ByNone:
		return kinematics.Free(Degrees(g.OpeningDeg)), nil
	}
	return nil, nil
}

// Incisal is where the incisal point is under a pose.
func (e *Setup) Incisal(p kinematics.Pose) *findings.Vec {
	if e.Casts.Incisal == nil {
		return nil
	}
	v := findings.VecOf(p.Apply(*e.Casts.Incisal))
	return &v
}

// Degrees is an angle of d degrees.
func Degrees(d float64) s1.Angle { return s1.Angle(d) * s1.Degree }
