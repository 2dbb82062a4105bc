package casts

import (
	"errors"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// ErrLandmarks says that a point is not known that is needed.
var ErrLandmarks = errors.New("a landmark is missing")

// mount finds the motion scan → articulator and the incisal point.
func (c *Casts) mount(of *casefile.Case, upper, lower *Scan) error {
	up := r3.Sub(upper.Mesh.Bounds().Center(), lower.Mesh.Bounds().Center())
	var m kinematics.Mounting
	incisal := of.Landmarks.IncisalPoint
	switch {
	case of.Mount.Recorded != nil:
		r := of.Mount.Recorded
		m = kinematics.RecordedAxis{RightCondyle: r.RightCondyle.Vec(), LeftCondyle: r.LeftCondyle.Vec(),
			Reference: r.ReferencePoint.Vec(), Up: up}
	case of.Mount.Matrix != nil:
		m = kinematics.Matrix(*of.Mount.Matrix)
	default:
		a := of.Mount.Average
		points, err := c.landmarks(a, lower)
		if err != nil {
			return err
		}
		if incisal == nil {
			incisal = &points[0]
		}
		m = kinematics.Average{
			IncisalPoint: points[0].Vec(), RightMolar: points[1].Vec(), LeftMolar: points[2].Vec(), Up: up,
			Intercondylar: of.Settings.IntercondylarMM, CondyleToIncisal: a.CondyleToIncisalMM,
			Balkwill: s1.Angle(a.BalkwillDeg) * s1.Degree, PlaneTilt: s1.Angle(a.PlaneTiltDeg) * s1.Degree,
		}
	}
	pose, err := m.Mount()
	if err != nil {
		return fmt.Errorf("%w: %w; if the mounting is right, the scans may be exchanged: upper is %s, lower is %s",
			ErrSwapped, err, of.Upper.Scan, of.Lower.Scan)
	}
	c.Mount = pose
	if incisal == nil {
		incisal, c.NoIncisal = incisalPoint(lower)
	}
	if incisal != nil {
		p := pose.Apply(incisal.Vec())
		c.Incisal = &p
	}
	return nil
}

// incisalPoint finds the incisal point on a labelled lower arch, in the scan frame. The
// error says why it cannot be found.
func incisalPoint(lower *Scan) (*casefile.Point, error) {
	switch {
	case lower.Unfound != nil:
		return nil, errors.New("the teeth of the lower arch could not be found")
	case lower.Labels == nil:
		return nil, errors.New("the lower arch has no labels")
	}
	p, err := anatomy.IncisalPoint(lower.Mesh, lower.Labels)
	if err != nil {
		return nil, err
	}
	return &casefile.Point{p.X, p.Y, p.Z}, nil
}

// offArchMost is how far from the lower arch's surface an incisal point may be given,
// mm; beyond it is a mistake (another frame, another unit, another tooth). Our choice:
// pointers and wax rims miss an edge by 1 to 2 mm.
const offArchMost = 5.0

// checkIncisal says whether the incisal point lies on the lower arch.
func (c *Casts) checkIncisal(of *casefile.Case) error {
	if c.Incisal == nil {
		return nil
	}
	if _, near := c.Scanned.Index.Nearest(*c.Incisal, offArchMost); near {
		return nil
	}
	hit, _ := c.Scanned.Index.Nearest(*c.Incisal, math.Inf(1))
	key := "landmarks.incisal_point"
	if of.Landmarks.IncisalPoint == nil {
		key = "mount.average.incisal_point"
	}
	return fmt.Errorf("%w: %s lies %.1f mm off the surface of %s, at most %g mm; give the middle between the "+
		"mesioincisal edges of 31 and 41, in mm in the frame of the scan",
		ErrLandmarks, key, hit.Dist, of.Lower.Scan, offArchMost)
}

// landmarks is the incisal point and the right and left molar points, given or
// found on the labelled lower arch.
func (c *Casts) landmarks(a *casefile.Average, lower *Scan) ([3]casefile.Point, error) {
	if a.IncisalPoint != nil {
		return [3]casefile.Point{*a.IncisalPoint, *a.RightMolar, *a.LeftMolar}, nil
	}
	if lower.Unfound != nil {
		return [3]casefile.Point{}, fmt.Errorf("%w: mount.average needs incisal_point, right_molar and left_molar, or "+
			"labels of the lower arch to find them on (lower.labels); its teeth could not be found from its shape: %w", ErrLandmarks, lower.Unfound)
	}
	if lower.Labels == nil {
		return [3]casefile.Point{}, fmt.Errorf("%w: mount.average needs incisal_point, right_molar and left_molar, or "+
			"labels of the lower arch to find them on (lower.labels)", ErrLandmarks)
	}
	p, err := mountingPoints(lower)
	if err != nil {
		how := "on the labelled lower arch"
		if lower.Found != nil {
			how = "on the lower arch, whose teeth were found from its shape"
		}
		return p, fmt.Errorf("%w: the points of mount.average cannot be found %s: %w; give incisal_point, right_molar "+
			"and left_molar", ErrLandmarks, how, err)
	}
	c.Found = true
	return p, nil
}
