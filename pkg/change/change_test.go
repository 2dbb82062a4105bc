package change_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/testcase"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/change"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// scan is an arch as a scan, with its vertices moved.
func scan(t *testing.T, m *mesh.Mesh, labels *dentition.Labels, to func(k dentition.ToothID, p r3.Vec) r3.Vec) *casts.Scan {
	verts := append([]r3.Vec(nil), m.Vertices()...)
	for v, p := range verts {
		verts[v] = to(labels.Vertex(mesh.VertexID(v)), p)
	}
	out, err := mesh.New(verts, m.Triangles())
	require.NoError(t, err)
	teeth, err := labels.Triangles(out)
	require.NoError(t, err)
	return &casts.Scan{Mesh: out, Labels: labels, Teeth: teeth}
}

func same(_ dentition.ToothID, p r3.Vec) r3.Vec { return p }

// top is the highest point of a tooth.
func top(m *mesh.Mesh, labels *dentition.Labels, t dentition.ToothID) r3.Vec {
	best := r3.Vec{Z: math.Inf(-1)}
	for v, p := range m.Vertices() {
		if labels.Vertex(mesh.VertexID(v)) == t && p.Z > best.Z {
			best = p
		}
	}
	return best
}

// strip is the lower arch of the small case, in the order of its labels.
func strip(t *testing.T, fine int) (*mesh.Mesh, *dentition.Labels) {
	a := testcase.New(fine)
	m, _ := mesh.Weld(testmesh.Unwelded(a.Lower), 0)
	require.Equal(t, m.NumVertices(), a.Lower.NumVertices())
	return m, a.LowerLabels
}

// An arch is scanned again: triangulated otherwise, with noise of 12 µm at every vertex, bent by 70 µm
// from one end to the other, and somewhere else. Cusps ground flat in between are found with their
// depth, averaged as it is, to 15 µm. 15 µm are not told, nor anything on the other teeth.
func TestScannedAgain(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 21))
	first, labels := strip(t, 24)
	second, again := strip(t, 20)
	ground := map[dentition.ToothID]float64{46: 0.25, 36: 0.15, 34: 0.015}
	level := map[dentition.ToothID]float64{}
	for k, mm := range ground {
		level[k] = top(first, labels, k).Z - mm
	}
	// Depths are averaged over a radius of 0.4 mm with weights 1−d², of mean square a third: on a ridge of
	// radius 0.81 mm (½ mm high, 4 mm apart) that takes 0.4²/(2·0.81)/3 across it, halved since it hardly
	// falls along it.
	const flattened = 0.16 / (2 * 0.81) / 3 / 2
	away, box := testmesh.Pose(rng, 20), first.Bounds()
	after := scan(t, second, again, func(k dentition.ToothID, p r3.Vec) r3.Vec {
		if z, ok := level[k]; ok {
			p.Z = min(p.Z, z)
		}
		u := (p.X - box.Min.X) / (box.Max.X - box.Min.X)
		p = r3.Add(p, r3.Vec{Y: 0.06 * u * u, Z: -0.04 * u * u})
		return away.Apply(r3.Add(p, r3.Scale(0.012*rng.NormFloat64(), testmesh.Unit(rng))))
	})
	before := scan(t, first, labels, func(_ dentition.ToothID, p r3.Vec) r3.Vec {
		return r3.Add(p, r3.Scale(0.012*rng.NormFloat64(), testmesh.Unit(rng)))
	})
	crowns, err := change.Crowns(t.Context(), before, after)
	require.NoError(t, err)
	require.Len(t, crowns, 14)
	for _, c := range crowns {
		t.Logf("%v: fit %.1f µm, provable %.0f µm, lost %.0f µm %.2f mm² %.3f mm³, gained %.0f µm", c.Tooth, c.FitUm, c.ProvableUm,
			c.Lost.DeepestUm, c.Lost.AreaMM2, c.Lost.VolumeMM3, c.Gained.DeepestUm)
		require.True(t, c.Measured, "%v", c.Tooth)
		assert.InDelta(t, 42, c.ProvableUm, 15)
		assert.Zero(t, c.Gained.DeepestUm, "%v", c.Tooth)
		mm := ground[c.Tooth.Tooth()]
		if mm < 0.1 {
			assert.Zero(t, c.Lost.DeepestUm, "%v", c.Tooth)
			continue
		}
		assert.InDelta(t, 1000*(mm-flattened), c.Lost.DeepestUm, 15, "%v", c.Tooth)
	}
}

// The same scan, worked on and moved, is exact: what was added has its height, along the normals, to 3 µm,
// nothing else changed, and a missing tooth is not told of. Another person's arch and the opposing one
// are refused.
func TestSameScanAndOthers(t *testing.T) {
	m, labels := strip(t, 12)
	before := scan(t, m, labels, same)
	away := testmesh.Pose(rand.New(rand.NewPCG(17, 22)), 20)
	middle := top(m, labels, 35)
	after := scan(t, m, labels, func(k dentition.ToothID, p r3.Vec) r3.Vec {
		if k == 35 && math.Hypot(p.X-middle.X, p.Y-middle.Y) < 1.5 {
			p.Z += 0.03
		}
		return away.Apply(p)
	})
	for i := range after.Teeth {
		if after.Teeth[i] == 37 {
			after.Teeth[i] = dentition.NoTooth
		}
	}
	crowns, err := change.Crowns(t.Context(), before, after)
	require.NoError(t, err)
	require.Len(t, crowns, 13)
	for _, x := range crowns {
		assert.NotEqual(t, findings.Part(37), x.Tooth)
		require.True(t, x.Measured)
		assert.Less(t, x.FitUm, 0.01)
		assert.Zero(t, x.Lost.DeepestUm)
		if x.Tooth == 35 {
			// What goes 30 µm up goes less far across a slope, and the tip is too sharp to be measured.
			assert.LessOrEqual(t, x.Gained.DeepestUm, 30.5)
			assert.GreaterOrEqual(t, x.Gained.DeepestUm, 30*math.Cos(30*math.Pi/180))
			assert.Less(t, r3.Norm(r3.Sub(x.Gained.PointMM.R3(), middle)), 1.5)
			continue
		}
		assert.Zero(t, x.Gained.DeepestUm, "%v", x.Tooth)
	}

	a := testcase.New(12)
	upper, _ := mesh.Weld(testmesh.Unwelded(a.Upper), 0)
	_, err = change.Crowns(t.Context(), before, scan(t, upper, a.UpperLabels, same))
	require.ErrorIs(t, err, change.ErrOther)
	wide := scan(t, m, labels, func(_ dentition.ToothID, p r3.Vec) r3.Vec { p.X *= 1.15; return p })
	_, err = change.Crowns(t.Context(), before, wide)
	require.ErrorIs(t, err, change.ErrOther)
}
