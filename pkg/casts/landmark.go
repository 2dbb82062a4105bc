package casts

import (
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"gonum.org/v1/gonum/spatial/r3"
)

// Landmark is the place of a feature that was found with some confidence.
func Landmark(c *Cast, t dentition.ToothID, f anatomy.Feature) (r3.Vec, bool) {
	for _, l := range c.Landmarks {
		if l.Tooth == t && l.Feature == f && l.Confidence >= SureCusp {
			return l.Point, true
		}
	}
	return r3.Vec{}, false
}

// Criteria of cusp paths; all are our choice.
const (
	// SureCusp is the confidence from which a cusp's tip is followed.
	SureCusp = 0.5
)

// Of is the cast of a tooth, as settled.
func Of(c *Casts, t dentition.ToothID) *Cast {
	if t.Jaw() == dentition.Upper {
		return c.Upper
	}
	return c.Lower
}
