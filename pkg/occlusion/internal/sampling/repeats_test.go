package sampling

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/internal/drift"
	"github.com/cusptrace/cusptrace/internal/testcast"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// walk distorts an arch otherwise than package drift does: the turn goes on by independent
// normal steps of a tenth of a millimetre. It gives the displacement of any point.
func walk(rng *rand.Rand, p *drift.Path, sigma float64) func(q r3.Vec) r3.Vec {
	const step = 0.1
	n := int(p.Length()/step) + 2
	shift, turn := make([]r3.Vec, n), make([]r3.Vec, n)
	for i := 1; i < n; i++ {
		way := r3.Sub(p.At(float64(i)*step), p.At(float64(i-1)*step))
		shift[i] = r3.Add(shift[i-1], r3.Cross(turn[i-1], way))
		s := sigma * math.Sqrt(step)
		turn[i] = r3.Add(turn[i-1], r3.Vec{X: s * rng.NormFloat64(), Y: s * rng.NormFloat64(), Z: s * rng.NormFloat64()})
	}
	return func(q r3.Vec) r3.Vec {
		s := p.Nearest(q)
		i := int(s / step)
		return r3.Add(shift[i], r3.Cross(turn[i], r3.Sub(q, p.At(s))))
	}
}

func castOf(t *testing.T, a typodont.Arch, jaw dentition.Jaw) *casts.Cast {
	teeth, err := a.Labels.Triangles(a.Mesh)
	require.NoError(t, err)
	s := &casts.Scan{Mesh: a.Mesh, Labels: a.Labels, Teeth: teeth}
	c, err := casts.NewCast(context.Background(), s, jaw, kinematics.Pose{}, casts.TeethAlone)
	require.NoError(t, err)
	return c
}

// rescanned is a mesh displaced and moved to another frame, its triangles in another order, and
// without those of one end of the base.
func rescanned(t *testing.T, m *mesh.Mesh, by func(r3.Vec) r3.Vec, frame kinematics.Pose) *mesh.Mesh {
	verts := make([]r3.Vec, m.NumVertices())
	for i, p := range m.Vertices() {
		verts[i] = frame.Apply(r3.Add(p, by(p)))
	}
	var tris [][3]mesh.VertexID
	low := m.Bounds().Min.Z
	for i := m.NumTriangles() - 1; i >= 0; i-- {
		if c := m.Triangle(mesh.TriID(i)); m.Vertex(c[0]).Z > low+1.5 || m.Vertex(c[0]).X < 0 {
			tris = append(tris, c)
		}
	}
	out, err := mesh.Adopt(verts, tris)
	require.NoError(t, err)
	return out
}

// The shifts of the crowns of a scan that is distorted and stands in another frame come out
// within 5 µm, and a scan of the other arch or of a wider one is refused.
func TestCrownsOfARepeatedScan(t *testing.T) {
	ctx := context.Background()
	made := testcast.Synthetic(t)
	c := castOf(t, made.Lower, dentition.Lower)
	teeth := newCrowns(c)
	require.Len(t, teeth.teeth, 14)
	p, err := way(c)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(4, 1))
	frame := kinematics.Rotation(r3.Vec{X: 1, Y: -2, Z: 0.5}, s1.Angle(2.2)).Then(kinematics.Translation(r3.Vec{X: 40, Y: -90, Z: 12}))
	bent := walk(rng, p, drift.Stitching)
	got, err := teeth.shifts(ctx, c.Whole, rescanned(t, made.Lower.Mesh, bent, frame))
	require.NoError(t, err)
	want := make([]r3.Vec, len(got))
	for i, q := range teeth.middle {
		want[i] = bent(q)
	}
	got, ok := levelled(teeth.middle, got)
	require.True(t, ok)
	want, ok = levelled(teeth.middle, want)
	require.True(t, ok)
	largest := 0.0
	for i := range got {
		require.InDelta(t, 0, r3.Norm(r3.Sub(got[i], want[i])), 5e-3, "%v", teeth.teeth[i])
		largest = max(largest, r3.Norm(want[i]))
	}
	require.Greater(t, largest, 0.03)

	none := func(r3.Vec) r3.Vec { return r3.Vec{} }
	wider := testmesh.Moved(made.Lower.Mesh, func(p r3.Vec) r3.Vec { p.X *= 1.1; return p })
	for name, m := range map[string]*mesh.Mesh{"upper": made.Upper.Mesh, "wider by a tenth": wider} {
		_, err = teeth.shifts(ctx, c.Whole, rescanned(t, m, none, frame))
		require.ErrorIs(t, err, ErrRepeat, name)
	}
}

// The estimate has no bias: with scans distorted by the usual σ its square is that of the
// usual σ on the average, and it grows with the square of the truth from what the usual size alone is
// worth. Of three scans it counts more than of two.
func TestSpreadOfRepeatedScans(t *testing.T) {
	points := []r3.Vec{}
	for i := range 14 {
		s, c := math.Sincos(math.Pi * (float64(i)/13 - 0.5))
		points = append(points, r3.Vec{X: 27 * s, Y: -45 * c})
	}
	p, err := drift.NewPath(points)
	require.NoError(t, err)
	modes := drift.NewModes(p)
	rng := rand.New(rand.NewPCG(11, 2))
	level := func(sigma float64) []r3.Vec {
		by := walk(rng, p, sigma)
		shift := make([]r3.Vec, len(points))
		for i, q := range points {
			shift[i] = by(q)
		}
		return shift
	}
	mean := func(sigma float64, scans int) float64 {
		const n = 400
		sum := 0.0
		for range n {
			first := level(sigma)
			var all [][]r3.Vec
			for range scans - 1 {
				again := level(sigma)
				for i := range again {
					again[i] = r3.Sub(again[i], first[i])
				}
				out, ok := levelled(points, again)
				require.True(t, ok)
				all = append(all, out)
			}
			s, ok := spread(points, all, modes)
			require.True(t, ok)
			sum += s * s / (drift.Stitching * drift.Stitching) / n
		}
		return sum
	}
	none := mean(0, 2)
	require.Greater(t, none, 0.3)
	require.Less(t, none, 0.7)
	usual := mean(drift.Stitching, 2)
	require.InDelta(t, 1, usual, 0.06)
	twice := mean(2*drift.Stitching, 2)
	require.InEpsilon(t, 4-3*none, twice, 0.08)
	require.Greater(t, mean(2*drift.Stitching, 3), twice+0.3)
}
