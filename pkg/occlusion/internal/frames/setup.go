package frames

import (
	"fmt"

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
