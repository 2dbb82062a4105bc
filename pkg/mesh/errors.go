package mesh

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Reasons for which a mesh is refused; errors of this package wrap them with
// the place.
var (
	ErrNonFinite  = errors.New("coordinate is not a finite number")
	ErrTooFar     = errors.New("coordinate is out of range")
	ErrIndexRange = errors.New("vertex number out of range")
	ErrUnit       = errors.New("unit of length")
)

// VertexError places a fault at a vertex.
type VertexError struct {
	Vertex VertexID
	Err    error
}

func (e *VertexError) Error() string { return fmt.Sprintf("vertex %d: %v", e.Vertex, e.Err) }
func (e *VertexError) Unwrap() error { return e.Err }

// TriangleError places a fault at a triangle.
type TriangleError struct {
	Tri TriID
	Err error
}

func (e *TriangleError) Error() string { return fmt.Sprintf("triangle %d: %v", e.Tri, e.Err) }
func (e *TriangleError) Unwrap() error { return e.Err }

// CheckPoint says with an error wrapping [ErrNonFinite] or [ErrTooFar] why no
// vertex of a mesh can lie at v (mm); nil where one can.
func CheckPoint(v r3.Vec) error {
	if inRange(v) {
		return nil
	}
	return rangeFault(v)
}

// rangeFault says why inRange refused p.
func rangeFault(p r3.Vec) error {
	for _, c := range [3]float64{p.X, p.Y, p.Z} {
		if math.IsNaN(c) || math.IsInf(c, 0) {
			return fmt.Errorf("%w: found (%g, %g, %g)", ErrNonFinite, p.X, p.Y, p.Z)
		}
	}
	return fmt.Errorf("%w: found (%g, %g, %g) mm, expected at most ±%g", ErrTooFar, p.X, p.Y, p.Z, float64(MaxCoordinate))
}
