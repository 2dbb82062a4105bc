package segment

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// paper is a plane of 30 mm with cells of 0.25 mm, on which 16 is a disc of 4 mm about the middle and 17 what lies
// beside it on the right.
func paper() (*mesh.Mesh, []dentition.ToothID) {
	m := testmesh.Plane(30, 120)
	codes := make([]dentition.ToothID, m.NumVertices())
	for v, p := range m.Vertices() {
		switch {
		case r3.Norm(p) < 4:
			codes[v] = 16
		case p.X > 2 && p.X < 10 && math.Abs(p.Y) < 4:
			codes[v] = 17
		}
	}
	return m, codes
}

// arcOf is n + 1 points of a circle about the middle, from one angle to another.
func arcOf(radius, from, to float64, n int) []r3.Vec {
	var out []r3.Vec
	for i := range n + 1 {
		sin, cos := math.Sincos(from + (to-from)*float64(i)/float64(n))
		out = append(out, r3.Vec{X: radius * cos, Y: radius * sin})
	}
	return out
}

// closed ends a line where it begins.
func closed(line []r3.Vec) []r3.Vec { return append(line[:len(line)-1:len(line)-1], line[0]) }

// Lines on a plane: what is the tooth then is known in closed form, to within a cell and a half of its border, by which the shortest
// way over edges strays from the line.
func TestBorders(t *testing.T) {
	const cell = 0.25
	disc := func(p r3.Vec, radius float64) float64 { return radius - r3.Norm(p) } // above 0 inside
	right := func(p r3.Vec) float64 { return min(p.X-2, 10-p.X, 4-math.Abs(p.Y), r3.Norm(p)-4) }
	for name, c := range map[string]struct {
		border Border
		in     func(p r3.Vec) float64 // of 16
		of17   func(p r3.Vec) float64
	}{
		"all around, wider": {Border{16, closed(arcOf(6, 0, 2*math.Pi, 24))}, func(p r3.Vec) float64 { return disc(p, 6) },
			func(p r3.Vec) float64 { return min(right(p), r3.Norm(p)-6) }},
		"all around, within": {Border{16, closed(arcOf(1.5, 0, 2*math.Pi, 12))}, func(p r3.Vec) float64 { return disc(p, 1.5) }, right},
		"all around, elsewhere": {Border{18, closed(arcOf(2, 0, 2*math.Pi, 12))},
			func(p r3.Vec) float64 { return min(disc(p, 4), -disc(p, 2)) }, right},
		"cut off towards nothing": {Border{16, []r3.Vec{{X: -2, Y: -5}, {X: -2, Y: 5}}},
			func(p r3.Vec) float64 { return min(disc(p, 4), p.X+2) }, right},
		"cut off towards 17": {Border{16, []r3.Vec{{X: 3, Y: 2.6}, {X: 3}, {X: 3, Y: -2.6}}},
			func(p r3.Vec) float64 { return min(disc(p, 4), 3-p.X) },
			func(p r3.Vec) float64 { return max(right(p), min(disc(p, 4), p.X-3)) }},
		"farther out": {Border{16, append(append([]r3.Vec{{X: 0, Y: 3.9}}, arcOf(6, math.Pi/2, math.Pi, 8)...), r3.Vec{X: -3.9})},
			func(p r3.Vec) float64 { return max(disc(p, 4), min(disc(p, 6), p.Y, -p.X)) }, right},
	} {
		m, codes := paper()
		require.NoError(t, drawBorders(m, codes, []Border{c.border}), name)
		for v, p := range m.Vertices() {
			if d := c.in(p); math.Abs(d) > 1.5*cell {
				require.Equal(t, d > 0, codes[v] == 16, "%s: 16 at %v", name, p)
			}
			if d := c.of17(p); math.Abs(d) > 1.5*cell && math.Abs(c.in(p)) > 1.5*cell {
				require.Equal(t, d > 0, codes[v] == 17, "%s: 17 at %v", name, p)
			}
			if c.border.Tooth == 18 && math.Abs(disc(p, 2)) > 1.5*cell {
				require.Equal(t, disc(p, 2) > 0, codes[v] == 18, "%s: 18 at %v", name, p)
			}
		}
	}
}

func TestBordersThatCannotBeFollowed(t *testing.T) {
	for name, b := range map[string]Border{
		"no tooth":       {0, arcOf(5, 0, 1, 3)},
		"milk":           {55, arcOf(5, 0, 1, 3)},
		"nothing":        {16, nil},
		"one point":      {16, arcOf(5, 0, 1, 3)[:1]},
		"there and back": {16, []r3.Vec{{X: 1}, {X: 2}, {X: 1}}},
		"not finite":     {16, []r3.Vec{{X: math.NaN()}, {X: 2}}},
	} {
		require.ErrorIs(t, errOf(b), ErrCorrection, name)
	}
	require.ErrorIs(t, errOf(Border{36, arcOf(5, 0, 1, 3)}), dentition.ErrJaw)
	require.NoError(t, errOf(Border{16, []r3.Vec{{X: 1}, {X: 2}}}))
	for name, b := range map[string]Border{
		"off the scan":                 {16, []r3.Vec{{X: 4, Z: 3.1}, {X: -4}}},
		"a part of no tooth":           {15, []r3.Vec{{X: 4}, {X: -4}}},
		"far from the border":          {16, []r3.Vec{{X: 0, Y: 9.5}, {X: -8}}},
		"encloses nothing":             {16, []r3.Vec{{X: 1}, {X: 2}, {X: 3}, {X: 1}}},
		"all around, nothing enclosed": {16, []r3.Vec{{}, {X: 0.01}, {Y: 0.01}, {}}},
	} {
		m, codes := paper()
		require.NoError(t, errOf(b), name)
		require.ErrorIs(t, drawBorders(m, codes, []Border{b}), ErrCorrection, name)
	}
	m, codes := paper()
	require.NoError(t, drawBorders(m, codes, []Border{{16, []r3.Vec{{X: 4, Z: 2.9}, {X: -4}}}}), "near enough")
	apart := testmesh.New([]r3.Vec{{}, {X: 1}, {Y: 1}, {X: 9}, {X: 10}, {X: 9, Y: 1}}, [][3]mesh.VertexID{{0, 1, 2}, {3, 4, 5}})
	require.ErrorContains(t, drawBorders(apart, make([]dentition.ToothID, 6), []Border{{16, []r3.Vec{{}, {X: 9}}}}), "hang together")
}

func errOf(b Border) error { return b.check(dentition.Upper) }
