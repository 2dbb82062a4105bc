package segment

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// ridge is a residual alveolar ridge without teeth, as formulas make one: a rounded wall along a parabola with a broad
// base, lower behind, a palate in its middle or none, uneven by slow waves and rough by noise.
type ridge struct {
	high, half float64 // of the wall and half its width, mm
	sharp      float64 // exponent of its profile: 2 is rounded, 1 a knife edge
	palate     float64 // height of the vault, 0 for none
	waves      float64 // mm
	noise      float64 // mm
	cast       bool    // with side walls and a flat bottom
}

func (r ridge) mesh(t testing.TB) *mesh.Mesh {
	t.Helper()
	const wide, deep, step = 80.0, 65.0, 0.5
	nx, ny := int(wide/step)+1, int(deep/step)+1
	rng := rand.New(rand.NewPCG(14, 2))
	var crest []r2.Vec
	for x := -25.0; x <= 25; x += 0.1 {
		crest = append(crest, r2.Vec{X: x, Y: 0.064 * x * x})
	}
	height := func(x, y float64) float64 {
		away, at := math.Inf(1), r2.Vec{}
		for _, c := range crest {
			if d := math.Hypot(x-c.X, y-c.Y); d < away {
				away, at = d, c
			}
		}
		z := r.high * (1 - 0.25*at.Y/40) * math.Exp(-math.Pow(away/r.half, r.sharp))
		if inside := y > 0.064*x*x; inside && r.palate > 0 {
			z = max(z, r.palate*(1-math.Exp(-away*away/60)))
		}
		return z + r.waves*(math.Sin(0.31*x+1)*math.Cos(0.23*y)+0.5*math.Sin(0.7*at.X))
	}
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for j := range ny {
		for i := range nx {
			x, y := float64(i)*step-wide/2, float64(j)*step-12
			verts = append(verts, r3.Vec{X: x, Y: y, Z: height(x, y) + r.noise*rng.NormFloat64()})
		}
	}
	quad := func(a, b, c, d int) {
		tris = append(tris, [3]mesh.VertexID{mesh.VertexID(a), mesh.VertexID(b), mesh.VertexID(c)},
			[3]mesh.VertexID{mesh.VertexID(a), mesh.VertexID(c), mesh.VertexID(d)})
	}
	for j := range ny - 1 {
		for i := range nx - 1 {
			quad(j*nx+i, j*nx+i+1, (j+1)*nx+i+1, (j+1)*nx+i)
		}
	}
	if r.cast {
		n := len(verts)
		for _, p := range verts[:n] {
			verts = append(verts, r3.Vec{X: p.X, Y: p.Y, Z: -12})
		}
		for j := range ny - 1 {
			for i := range nx - 1 {
				quad(n+j*nx+i, n+(j+1)*nx+i, n+(j+1)*nx+i+1, n+j*nx+i+1)
			}
		}
		for i := range nx - 1 {
			quad(n+i, n+i+1, i+1, i)
			b := (ny - 1) * nx
			quad(b+i, b+i+1, n+b+i+1, n+b+i)
		}
		for j := range ny - 1 {
			quad(j*nx, (j+1)*nx, n+(j+1)*nx, n+j*nx)
			b := nx - 1
			quad(n+j*nx+b, n+(j+1)*nx+b, (j+1)*nx+b, j*nx+b)
		}
	}
	m, err := mesh.New(verts, tris)
	require.NoError(t, err)
	return m
}

// A ridge without teeth, whatever its form, is said to show none, by whoever is asked.
func TestEdentulous(t *testing.T) {
	jaws := [2]dentition.Jaw{dentition.Upper, dentition.Lower}
	for i, r := range []ridge{
		{high: 8, half: 5, sharp: 2, waves: 0.3, noise: 0.04},
		{high: 7, half: 3, sharp: 1.3, waves: 0.5, noise: 0.02},
		{high: 8, half: 5, sharp: 2, waves: 0.3, noise: 0.015, palate: 6, cast: true},
	} {
		m := r.mesh(t)
		_, err := Find(context.Background(), m, jaws[i%2], Options{})
		require.ErrorIs(t, err, ErrNoArch, "%+v", r)
		require.ErrorContains(t, err, "edentulous")
		if i == 2 {
			_, _, err = LooksLike(context.Background(), m)
			require.ErrorIs(t, err, ErrNoArch, "%+v", r)
		}
	}
}
