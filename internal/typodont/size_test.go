package typodont

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// lowest is how far a tooth of an upper arch reaches down along its axis (mm).
func lowest(t *testing.T, c *Case, tooth int, axis r3.Vec) float64 {
	t.Helper()
	most := math.Inf(-1)
	for v, p := range c.Upper.Mesh.Vertices() {
		if c.Upper.Labels.Vertex(mesh.VertexID(v)) == dentition.ToothID(tooth) {
			most = max(most, r3.Dot(p, axis))
		}
	}
	require.False(t, math.IsInf(most, -1))
	return most
}

func occlusal(t *testing.T, c *Case, tooth int) r3.Vec {
	t.Helper()
	for _, x := range c.Truth.Teeth {
		if x.Tooth == tooth {
			return x.Occlusal.Vec()
		}
	}
	require.Failf(t, "no tooth", "%d", tooth)
	return r3.Vec{}
}

// A worn canine is shorter by what was worn off, lifted anterior teeth stand higher by
// what they were lifted, but for where the meshes have their vertices, 0.4 mm apart.
func TestWornAndLiftedTeethMoveByTheirSize(t *testing.T) {
	plain := undisturbed(t)
	worn := disturbed(t, Params{Triangles: 50000, Disturbances: []Disturbance{{Kind: FlatCanine, Tooth: 13, MM: 1.2}}})
	axis := occlusal(t, plain, 13)
	assert.InDelta(t, 1.2, lowest(t, plain, 13, axis)-lowest(t, worn, 13, axis), 0.08)

	open := generate(t, Params{Triangles: 50000, Disturbances: []Disturbance{{Kind: OpenAnterior, MM: 2}}})
	down := r3.Vec{Z: -1}
	for _, tooth := range []int{12, 11, 21, 22} {
		assert.InDeltaf(t, 2, lowest(t, plain, tooth, down)-lowest(t, open, tooth, down), 0.08, "%d", tooth)
	}
}

// In protrusion both central incisors carry. Where one is shorter the other holds
// the jaw as before, and the short one stands off by what it lost, taken across
// the surface it would touch.
func TestShortIncisorStandsOffByItsSize(t *testing.T) {
	const um = 150.0
	plain := ready(t, undisturbed(t))
	c := ready(t, disturbed(t, Params{Triangles: 50000, Disturbances: []Disturbance{{Kind: Incisor, Tooth: 31, Um: -um}}}))
	axis := occlusal(t, plain.Case, 31)
	for _, travel := range []float64{0.5, 1} {
		was, _, _, _ := plain.close(t, "protrusive", travel)
		is, _, _, touch := c.close(t, "protrusive", travel)
		assert.InDelta(t, was, is, 0.01)
		gap := func(r *readyCast, pose kinematics.Pose) contact.Gap {
			lo, err := contact.AppendLowerClearances(nil, r.upper, r.lower, pose, &contact.ClearanceScratch{})
			require.NoError(t, err)
			for i, part := range r.lower.Parts {
				if part == 31 {
					return lo[i]
				}
			}
			require.Fail(t, "no 31")
			return contact.Gap{}
		}
		g := gap(c, touch.Pose)
		n := r3.Unit(r3.Sub(g.UpperPoint, g.LowerPoint))
		t.Logf("%g mm: gap %.1f µm, expected %.1f", travel, g.Dist*1000, um*r3.Dot(n, touch.Pose.Rotate(axis)))
		assert.InEpsilon(t, um*r3.Dot(n, touch.Pose.Rotate(axis)), g.Dist*1000, 0.1)
	}
}

// The field of the noise has mean 0 and variance 1, is nearly the same a tenth of
// the correlation length away, and independent two lengths away.
func TestNoiseIsCorrelatedOverItsLength(t *testing.T) {
	rng := rand.New(rand.NewPCG(71, 1))
	const n = 40000
	at := func(d float64) float64 {
		sum := 0.0
		for range n {
			p := r3.Vec{X: 400 * rng.Float64(), Y: 400 * rng.Float64(), Z: 400 * rng.Float64()}
			way := r3.Unit(r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()})
			sum += field(p, 5) * field(addScaled(p, d, way), 5)
		}
		return sum / n
	}
	assert.InDelta(t, 1, at(0), 0.05)
	assert.Greater(t, at(0.1), 0.9)
	assert.InDelta(t, 0.5, at(0.75), 0.25)
	assert.InDelta(t, 0, at(2), 0.03)
}
