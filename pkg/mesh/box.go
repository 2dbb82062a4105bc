package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Box is a closed axis-parallel box in mm. A flat box is not empty; [EmptyBox]
// is. The zero Box is the point at the origin.
type Box struct {
	Min, Max r3.Vec
}

// EmptyBox is the box that holds no point and is neutral for [Box.Include].
func EmptyBox() Box {
	inf := math.Inf(1)
	return Box{Min: r3.Vec{X: inf, Y: inf, Z: inf}, Max: r3.Vec{X: -inf, Y: -inf, Z: -inf}}
}

// Empty says whether the box holds no point.
func (b Box) Empty() bool { return b.Min.X > b.Max.X || b.Min.Y > b.Max.Y || b.Min.Z > b.Max.Z }

// Include is the smallest box around b and p.
func (b Box) Include(p r3.Vec) Box {
	return Box{
		Min: r3.Vec{X: min(b.Min.X, p.X), Y: min(b.Min.Y, p.Y), Z: min(b.Min.Z, p.Z)},
		Max: r3.Vec{X: max(b.Max.X, p.X), Y: max(b.Max.Y, p.Y), Z: max(b.Max.Z, p.Z)},
	}
}

// Size is the lengths of the sides in mm; zero for an empty box.
func (b Box) Size() r3.Vec {
	if b.Empty() {
		return r3.Vec{}
	}
	return r3.Sub(b.Max, b.Min)
}

// Center is the middle of the box.
func (b Box) Center() r3.Vec { return r3.Scale(0.5, r3.Add(b.Min, b.Max)) }
