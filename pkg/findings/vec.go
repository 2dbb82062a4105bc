package findings

import (
	"gonum.org/v1/gonum/spatial/r3"
)

// Vec is a point or direction, written as [x, y, z].
type Vec [3]float64

func VecOf(v r3.Vec) Vec { return Vec{v.X, v.Y, v.Z} }

func (v Vec) R3() r3.Vec { return r3.Vec{X: v[0], Y: v[1], Z: v[2]} }
