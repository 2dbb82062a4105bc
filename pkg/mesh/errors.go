package mesh

import (
	"errors"
	"fmt"
)

// Reasons for which a mesh or a file is refused; errors of this package wrap
// them with the place.
var (
	ErrNonFinite  = errors.New("coordinate is not a finite number")
	ErrIndexRange = errors.New("vertex number out of range")
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
