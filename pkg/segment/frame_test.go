package segment

import (
	"math/rand/v2"

	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"
)

// anyMotion is a rotation drawn evenly from all, upside down as often as not, and a shift by up to 200 mm.
func anyMotion(rng *rand.Rand) func(r3.Vec) r3.Vec {
	q := quat.Number{Real: rng.NormFloat64(), Imag: rng.NormFloat64(), Jmag: rng.NormFloat64(), Kmag: rng.NormFloat64()}
	turn := r3.Rotation(quat.Scale(1/quat.Abs(q), q))
	shift := r3.Vec{X: 400*rng.Float64() - 200, Y: 400*rng.Float64() - 200, Z: 400*rng.Float64() - 200}
	return func(p r3.Vec) r3.Vec { return r3.Add(turn.Rotate(p), shift) }
}
