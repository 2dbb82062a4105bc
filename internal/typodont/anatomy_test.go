package typodont

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// Each scan is one open disc: one piece, one border, no fold, all outward.
func TestScansAreDiscs(t *testing.T) {
	for _, p := range []Params{{Triangles: 20000}, {Triangles: 50000, ThirdMolars: true}} {
		c := generate(t, p)
		for _, a := range []Arch{c.Upper, c.Lower} {
			top := mesh.BuildTopology(a.Mesh)
			assert.Len(t, top.Components(), 1)
			assert.Len(t, top.Loops(), 1)
			assert.InEpsilon(t, p.Triangles, a.Mesh.NumTriangles(), 0.12)
			for tri := range a.Mesh.NumTriangles() {
				require.False(t, top.Flipped(mesh.TriID(tri)))
			}
			for _, e := range top.Edges() {
				require.LessOrEqual(t, e.Sides, int32(2))
			}
		}
	}
}

// Crown sizes measured on the mesh against the handbook's (Wheeler, Nelson and
// Ash). The width is cut at the contacts by up to the overlap there.
func TestCrownSizes(t *testing.T) {
	c := undisturbed(t)
	for _, tt := range c.Truth.Teeth {
		a := c.Upper
		if tt.Tooth > 30 {
			a = c.Lower
		}
		var lo, hi [3]float64
		for k := range 3 {
			lo[k], hi[k] = math.Inf(1), math.Inf(-1)
		}
		for v, p := range a.Mesh.Vertices() {
			if int(a.Labels.Vertex(mesh.VertexID(v))) != tt.Tooth {
				continue
			}
			d := r3.Sub(p, tt.Origin.Vec())
			for k, axis := range []Point{tt.Mesial, tt.Buccal, tt.Occlusal} {
				x := r3.Dot(d, axis.Vec())
				lo[k], hi[k] = min(lo[k], x), max(hi[k], x)
			}
		}
		assert.InEpsilonf(t, tt.WidthMM, hi[0]-lo[0], 0.07, "%d mesiodistal", tt.Tooth)
		assert.InEpsilonf(t, tt.DepthMM, hi[1]-lo[1], 0.05, "%d buccolingual", tt.Tooth)
		assert.InDeltaf(t, tt.LengthMM, hi[2]-lo[2], 0.7, "%d crown length", tt.Tooth)
	}
}

// Arch widths within two standard deviations of Class I arches (n = 76,
// FACTS 4.9) and the depth of the curve of Spee in the published band (1.11 to 1.19).
func TestArchForm(t *testing.T) {
	c := undisturbed(t)
	width := func(right, left int, name string) float64 {
		return r3.Norm(r3.Sub(c.point(t, right, name), c.point(t, left, name)))
	}
	assert.InDelta(t, 35.41, width(13, 23, "cusp"), 2*1.47)
	assert.InDelta(t, 26.85, width(43, 33, "cusp"), 2*1.59)
	assert.InDelta(t, 53.82, width(16, 26, "mesiobuccal"), 2*2.82)
	assert.InDelta(t, 51.71, width(46, 36, "mesiobuccal"), 2*2.60)
	// Depth of the curve of Spee under the line from incisal edge to second molar.
	front, back := c.Truth.IncisalPoint.Vec(), c.Truth.LeftMolar.Vec()
	deepest := 0.0
	for _, tt := range c.Truth.Teeth {
		if tt.Tooth/10 != 3 {
			continue
		}
		for _, q := range tt.Cusps {
			if q.Supporting {
				k := (q.Point.Y - front.Y) / (back.Y - front.Y)
				deepest = max(deepest, front.Z+k*(back.Z-front.Z)-q.Point.Z)
			}
		}
	}
	assert.InDelta(t, 1.5, deepest, 1.0)
}

// inclination is the lean of a tooth's facial surface at mid-crown, measured where
// the mesh crosses the middle of its width.
func (c *Case) inclination(t testing.TB, tt ToothTruth) float64 {
	t.Helper()
	a := c.Upper
	if tt.Tooth > 30 {
		a = c.Lower
	}
	local := func(p r3.Vec) r3.Vec {
		d := r3.Sub(p, tt.Origin.Vec())
		return r3.Vec{X: r3.Dot(d, tt.Mesial.Vec()), Y: r3.Dot(d, tt.Buccal.Vec()), Z: r3.Dot(d, tt.Occlusal.Vec())}
	}
	// Least squares of the buccal over the occlusal coordinate around mid-crown, where
	// the triangles' sides cross the middle.
	n, so, sb, soo, sob := 0.0, 0.0, 0.0, 0.0, 0.0
	for _, tri := range a.Mesh.All() {
		for k := range 3 {
			u, v := tri[k], tri[(k+1)%3]
			if int(a.Labels.Vertex(u)) != tt.Tooth || int(a.Labels.Vertex(v)) != tt.Tooth {
				continue
			}
			p, q := local(a.Mesh.Vertex(u)), local(a.Mesh.Vertex(v))
			if p.X*q.X > 0 || p.X == q.X {
				continue
			}
			r := r3.Add(p, r3.Scale(p.X/(p.X-q.X), r3.Sub(q, p)))
			if b, o := r.Y, r.Z; b > 0 && math.Abs(o+tt.LengthMM/2) < 0.1*tt.LengthMM {
				n, so, sb, soo, sob = n+1, so+o, sb+b, soo+o*o, sob+o*b
			}
		}
	}
	require.Greater(t, n, 4.0)
	slope := (n*sob - so*sb) / (n*soo - so*so)
	d := r3.Add(tt.Occlusal.Vec(), r3.Scale(slope, tt.Buccal.Vec()))
	up := d.Z
	if tt.Tooth < 30 {
		up = -up
	}
	out := r3.Vec{X: tt.Buccal.X, Y: tt.Buccal.Y}
	return math.Atan2(r3.Dot(d, out)/r3.Norm(out), up) * 180 / math.Pi
}

// Crown inclinations, measured on the mesh: the anterior teeth's as Andrews found
// them (1972; FACTS 4.16, 4.17), the posterior teeth in his order, in which the upper
// second molar stands more upright than the first.
func TestInclinations(t *testing.T) {
	c := undisturbed(t)
	inc := map[int]float64{}
	for _, tt := range c.Truth.Teeth {
		inc[tt.Tooth] = c.inclination(t, tt)
		assert.InDeltaf(t, tt.InclinationDeg, inc[tt.Tooth], 1.5, "%d", tt.Tooth)
	}
	t.Log(inc)
	for place, andrews := range map[int][2]float64{1: {6.1, -1.7}, 2: {4.4, -3.2}, 3: {-7.3, -12.7}} {
		assert.InDelta(t, andrews[0], inc[20+place], 1)
		assert.InDelta(t, andrews[1], inc[30+place], 1)
	}
	for place := 1; place < 7; place++ {
		assert.Greaterf(t, inc[30+place], inc[31+place], "lower %d and %d", place, place+1)
		if place < 6 {
			assert.Greaterf(t, inc[20+place], inc[21+place], "upper %d and %d", place, place+1)
		}
	}
	assert.Greater(t, inc[27], inc[26], "upper second molar and first")
}

// Labels: all 28 teeth, each vertex within reach of its own tooth, and the two
// sides as many as the mirror image allows.
func TestLabels(t *testing.T) {
	c := undisturbed(t)
	assert.Len(t, c.Upper.Labels.Teeth(), 14)
	assert.Len(t, c.Lower.Labels.Teeth(), 14)
	frames := map[int]ToothTruth{}
	for _, tt := range c.Truth.Teeth {
		frames[tt.Tooth] = tt
	}
	require.Len(t, frames, 28)
	for _, a := range []Arch{c.Upper, c.Lower} {
		count := map[int]int{}
		for v, p := range a.Mesh.Vertices() {
			l := int(a.Labels.Vertex(mesh.VertexID(v)))
			if l == 0 {
				continue
			}
			count[l]++
			tt := frames[l]
			d := r3.Sub(p, tt.Origin.Vec())
			require.Less(t, math.Abs(r3.Dot(d, tt.Mesial.Vec())), tt.WidthMM*0.56)
			require.Less(t, math.Abs(r3.Dot(d, tt.Buccal.Vec())), tt.DepthMM*0.8)
		}
		for code, n := range count {
			assert.InEpsilonf(t, n, count[int(dentition.ToothID(code).Mirror())], 0.06, "%d", code)
		}
	}
}
