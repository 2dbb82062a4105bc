package kinematics

import (
	"errors"
	"fmt"
	"math"

	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// ErrSampling says that an excursion cannot be sampled as asked.
var ErrSampling = errors.New("excursion cannot be sampled")

// MaxSamples is the largest number of samples that [Samples] gives.
const MaxSamples = 100_000

// Samples is the travels 0, step, 2·step, … max (mm) of an excursion, each by
// one multiplication and not by adding up. The last is max; the step before it
// is shorter where step does not divide max.
func Samples(max, step float64) ([]float64, error) {
	if !(max > 0) || math.IsInf(max, 0) {
		return nil, fmt.Errorf("%w: the longest travel is %g mm, must be above 0", ErrSampling, max)
	}
	if !(step > 0) || math.IsInf(step, 0) {
		return nil, fmt.Errorf("%w: the step is %g mm, must be above 0", ErrSampling, step)
	}
	ratio := max / step
	// Binary fractions: 8/0.1 may come out a little off the 80 that is meant.
	whole := math.Round(ratio)
	even := whole >= 1 && math.Abs(ratio-whole) <= 1e-9*whole
	n := math.Ceil(ratio)
	if even {
		n = whole
	}
	if n >= MaxSamples {
		return nil, fmt.Errorf("%w: %g mm in steps of %g mm are %.0f samples, at most %d", ErrSampling, max, step, n+1, MaxSamples)
	}
	out := make([]float64, int(n)+1)
	for i := range out {
		out[i] = float64(i) * step
		if even {
			// Gives 0.3 and not 0.30000000000000004.
			out[i] = float64(i) * max / n
		}
	}
	out[len(out)-1] = max
	return out, nil
}

// PathOf is where the point q of the lower jaw (mm, in intercuspation in the articulator
// frame) is in each pose.
func PathOf(q r3.Vec, poses []Pose) []r3.Vec {
	out := make([]r3.Vec, len(poses))
	for i, p := range poses {
		out[i] = p.Apply(q)
	}
	return out
}

// InclinationOf is the angle to the horizontal plane of the chord of a path
// (mm, articulator frame), from its first point to its last: positive where it
// goes down, −90° to 90°. Over the incisal point's path it is the guidance
// inclination of that stretch. It fails where the ends coincide or are not
// finite.
func InclinationOf(path []r3.Vec) (s1.Angle, error) {
	if len(path) < 2 {
		return 0, fmt.Errorf("inclination of a path of %d points, needs at least 2", len(path))
	}
	way := r3.Sub(path[len(path)-1], path[0])
	if way == (r3.Vec{}) || !finite(way) {
		return 0, fmt.Errorf("inclination of a path from (%g, %g, %g) by (%g, %g, %g) mm is not defined", path[0].X,
			path[0].Y, path[0].Z, way.X, way.Y, way.Z)
	}
	return s1.Angle(math.Atan2(-way.Z, math.Hypot(way.X, way.Y))), nil
}
