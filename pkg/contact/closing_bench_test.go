package contact

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// band is a strip along a parabola, along by across cells, with cusps 1.5 mm
// high on it. The upper one lies a little farther out and faces down.
func band(along, across int, upper bool) *mesh.Mesh {
	side := -1.0
	if upper {
		side = 1
	}
	m := testmesh.Sheet(along, across, func(u, v float64) r3.Vec {
		s := 2*u - 1
		d := r3.Unit(r3.Vec{X: 45 * s, Y: -30}) // outward
		w := 12*(v-0.5) + 0.7*side
		p := r3.Add(r3.Vec{X: 30 * s, Y: -80 + 45*s*s}, r3.Scale(w, d))
		// Cusps of 14 teeth, three across; grooves face them.
		h := 0.75 * math.Cos(28*math.Pi*u) * math.Cos(math.Pi*w/4)
		p.Z = side*(0.2+0.02*w*w) + h + 0.1*math.Sin(9*u+5*w*side)
		return p
	})
	return testmesh.Moved(m, jaw.Apply)
}

type benchSize struct {
	name string
	n    int
}

// benchSizes are the arches that are closed; -short leaves out those that take long to make.
func benchSizes() []benchSize {
	all := []benchSize{{"arch10k", 10_000}, {"arch50k", 50_000}, {"arch200k", 200_000}, {"arch1M", 1_000_000}}
	if testing.Short() {
		return all[:2]
	}
	return all
}

func sweep(b *testing.B, c *Closer, bases []kinematics.Pose) {
	var s CloserScratch
	visits, sum := 0, 0.0
	for _, p := range bases { // grow
		touch, ok := met(c.Close(p, &s))
		require.True(b, ok)
		require.False(b, touch.AtLimit)
	}
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		touch, _ := met(c.Close(bases[i%len(bases)], &s))
		sum += touch.Opening.Radians()
		visits += s.Visits
		i++
	}
	require.False(b, math.IsNaN(sum))
	b.ReportMetric(float64(visits)/float64(b.N), "boxpairs/op")
}

// One frame of a movement of 81.
func BenchmarkClosing(b *testing.B) {
	for _, size := range benchSizes() {
		b.Run(size.name, func(b *testing.B) {
			up, lo := syntheticArches(size.n)
			sweep(b, closer(b, up, lo), benchFrames(81))
		})
	}
}

// One frame without the help of the one before.
func BenchmarkClosingAlone(b *testing.B) {
	for _, size := range benchSizes() {
		b.Run(size.name, func(b *testing.B) {
			up, lo := syntheticArches(size.n)
			c := closer(b, up, lo)
			bases := benchFrames(81)
			var s CloserScratch
			i := 0
			for b.Loop() {
				s.seeded = false
				c.Close(bases[i%len(bases)], &s)
				i++
			}
		})
	}
}

// One frame of the real case, each movement of 81.
func BenchmarkClosingReal(b *testing.B) {
	r := loadReal(b)
	c := closer(b, r.upper, r.lower)
	for _, m := range []kinematics.Movement{kinematics.Right, kinematics.Left, kinematics.Protrusive} {
		b.Run(m.String(), func(b *testing.B) { sweep(b, c, r.bases(b, m)) })
	}
	b.Run("rest, alone", func(b *testing.B) {
		var s CloserScratch
		for b.Loop() {
			s.seeded = false
			c.Close(kinematics.Pose{}, &s)
		}
		b.ReportMetric(float64(s.Visits), "boxpairs/op")
	})
}

// All three movements of the real case, 243 frames.
func BenchmarkClosingRealSweep(b *testing.B) {
	r := loadReal(b)
	c := closer(b, r.upper, r.lower)
	var bases []kinematics.Pose
	for _, m := range []kinematics.Movement{kinematics.Right, kinematics.Left, kinematics.Protrusive} {
		bases = append(bases, r.bases(b, m)...)
	}
	var s CloserScratch
	b.ReportAllocs()
	for b.Loop() {
		for _, p := range bases {
			if _, ok := met(c.Close(p, &s)); !ok {
				b.Fatal("does not touch")
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(bases)), "ns/frame")
}

func BenchmarkNewCloserReal(b *testing.B) {
	r := loadReal(b)
	up, lo := arch(b, r.upper), arch(b, r.lower)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := NewCloser(context.Background(), up, lo, Options{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N), "ms/op")
}

func ExampleCloser() {
	up := testmesh.Shifted(testmesh.Plane(20, 1), r3.Vec{Y: -80, Z: -30})
	lo := testmesh.Shifted(testmesh.Sphere(3, 8), r3.Vec{Y: -80, Z: -35})
	var arches [2]*Arch
	for i, m := range []*mesh.Mesh{up, lo} {
		a, err := NewArch(context.Background(), m, nil, Options{})
		if err != nil {
			fmt.Println(err)
			return
		}
		arches[i] = a
	}
	c, err := NewCloser(context.Background(), arches[0], arches[1], Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	var s CloserScratch
	touch, ok := met(c.Close(kinematics.Pose{}, &s))
	fmt.Printf("%t, opening %.2f° at y = %.1f mm\n", ok, touch.Opening.Degrees(), touch.Point.Y)
	// Output: true, opening -1.43° at y = -80.8 mm
}
