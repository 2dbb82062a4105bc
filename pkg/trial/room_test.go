package trial

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/unixpickle/model3d/model3d"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/trial/internal/carve"
	"github.com/cusptrace/cusptrace/pkg/trial/internal/surface"
)

// oneTooth is a cast of one tooth.
func oneTooth(t testing.TB, m *mesh.Mesh, tooth dentition.ToothID) *casts.Cast {
	a, err := contact.NewArch(t.Context(), m, nil, contact.Options{})
	require.NoError(t, err)
	c := &casts.Cast{Arch: a, Jaw: tooth.Jaw(), Teeth: make([]dentition.ToothID, m.NumTriangles()),
		Frames: map[dentition.ToothID]anatomy.Frame{tooth: {Centre: m.Bounds().Center()}}}
	for i := range c.Teeth {
		c.Teeth[i] = tooth
	}
	return c
}

// layerOn is a layer of wax on a lower surface below an upper one, to be laid along z.
func layerOn(t testing.TB, lower, upper *mesh.Mesh, goals []goal) *layer {
	part, err := surface.Cut(lower, func(mesh.TriID) bool { return true })
	require.NoError(t, err)
	return &layer{tooth: 41, jaw: dentition.Lower, cast: oneTooth(t, lower, 41), other: oneTooth(t, upper, 11), goals: goals,
		part: part, along: r3.Vec{Z: 1}}
}

// slide is goals at which the lower jaw has moved along x and y and opened.
func slide(n int, opening float64) []goal {
	var out []goal
	for i := range n {
		u := float64(i) / float64(n)
		out = append(out, goal{travel: u, Goal: carve.Goal{Base: kinematics.Translation(r3.Vec{X: -1.5 * u, Y: -0.8 * u * u}),
			Opening: s1.Angle((opening + 0.25*u*u) / 60)}})
	}
	return out
}

// The room for wax below a cusp that slides over it is what a block loses where the cusp is taken
// off it at every position, by the boolean of solids of model3d, a general-purpose library: to 0.2
// µm at every vertex of its surface. The position that is named is one at which the cusp is there.
func TestRoomIsTheBooleanOfSolids(t *testing.T) {
	const floor, top, cube = -0.4, 0.5, 0.2
	cusp := testmesh.Moved(testmesh.Sphere(1.2, 12), func(p r3.Vec) r3.Vec {
		return r3.Vec{X: 1.1*p.X + 0.2*p.Z, Y: 0.9*p.Y - 60, Z: p.Z + 1.1 + 0.1*math.Sin(5*p.X)*math.Cos(4*p.Y)}
	})
	goals := slide(9, 0)
	var taken model3d.JoinedSolid
	for _, g := range goals {
		back := g.Pose().Inverse()
		at := func(p r3.Vec) model3d.Coord3D { p = back.Apply(p); return model3d.XYZ(p.X, p.Y, p.Z) }
		var tris []*model3d.Triangle
		for k := range cusp.All() {
			a, b, c := cusp.Corners(k)
			tris = append(tris, &model3d.Triangle{at(a), at(b), at(c)})
		}
		taken = append(taken, model3d.NewColliderSolid(model3d.MeshToCollider(model3d.NewMeshTriangles(tris))))
	}
	block := model3d.NewRect(model3d.XYZ(-1.5, -61.5, floor), model3d.XYZ(3, -57.5, top))
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for _, v := range model3d.MarchingCubesSearch(model3d.Subtract(block, taken), cube, 12).VertexSlice() {
		if v.Z < floor+0.01 || v.Z > top-0.01 || v.X < -1.49 || v.X > 2.99 || v.Y < -61.49 || v.Y > -57.51 {
			continue // of the block itself
		}
		n := mesh.VertexID(len(verts))
		verts = append(verts, r3.Vec{X: v.X, Y: v.Y, Z: v.Z - 0.2}, r3.Vec{X: v.X + 1e-3, Y: v.Y, Z: v.Z - 0.2},
			r3.Vec{X: v.X, Y: v.Y + 1e-3, Z: v.Z - 0.2})
		tris = append(tris, [3]mesh.VertexID{n, n + 1, n + 2})
	}
	require.Greater(t, len(tris), 200)
	l := layerOn(t, testmesh.New(verts, tris), cusp, goals)
	require.NoError(t, l.room(t.Context()))
	named := map[int32]bool{}
	for v := 0; v < len(verts); v += 3 {
		require.InDelta(t, 0.2, l.most[v], 2e-4, "at %v", verts[v])
		require.GreaterOrEqual(t, l.by[v], int32(0))
		named[l.by[v]] = true
		up := r3.Add(verts[v], r3.Vec{Z: l.most[v]})
		h, ok := l.other.Index.Nearest(l.toOther(int(l.by[v]), up), 1)
		require.True(t, ok)
		require.Less(t, h.Dist, 1e-9)
	}
	assert.Greater(t, len(named), 3)
}

// crosses says whether two surfaces cross under a pose of the lower one: every triangle with every
// other.
func crosses(upper, lower *mesh.Mesh, pose kinematics.Pose) bool {
	type body struct {
		face   geom.Face
		middle r3.Vec
		radius float64
	}
	bodies := func(m *mesh.Mesh, to kinematics.Pose) (out []body) {
		for k := range m.All() {
			a, b, c := m.Corners(k)
			a, b, c = to.Apply(a), to.Apply(b), to.Apply(c)
			x := body{face: geom.NewFace(a, b, c), middle: r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))}
			for _, p := range [3]r3.Vec{a, b, c} {
				x.radius = max(x.radius, r3.Norm(r3.Sub(p, x.middle)))
			}
			out = append(out, x)
		}
		return out
	}
	up, lo := bodies(upper, kinematics.Pose{}), bodies(lower, pose)
	for i := range up {
		for k := range lo {
			reach := up[i].radius + lo[k].radius
			if r3.Norm2(r3.Sub(up[i].middle, lo[k].middle)) > reach*reach {
				continue
			}
			if d, _, _ := geom.Faces(&up[i].face, &lo[k].face, 0); d == 0 {
				return true
			}
		}
	}
	return false
}

// Random wax up to the room, as ragged as it may be, opens the casts nowhere by more than the
// tolerance of the trimming once it is trimmed: at every position, opened by 4 µm, no triangle of the
// waxed tooth crosses any of the opposing one, each tried with each. Untrimmed it does, since rays
// from vertices miss what lies between them.
func TestRandomWaxBelowTheRoomOpensNothing(t *testing.T) {
	const open = 0.004
	rng := rand.New(rand.NewPCG(17, 11))
	hill := func(x, y, h float64) float64 { return h * math.Exp(-(x*x + y*y)) }
	upper := testmesh.Turned(testmesh.Sheet(19, 17, func(u, v float64) r3.Vec {
		x, y := 5*(u-0.5), 5*(v-0.5)
		return r3.Vec{X: x, Y: y - 60, Z: 0.6 - hill(x-0.3, y, 0.5) - hill(x+1.2, y-0.8, 0.3)}
	}))
	lower := testmesh.Sheet(22, 21, func(u, v float64) r3.Vec {
		x, y := 4.6*(u-0.5), 4.6*(v-0.5)
		return r3.Vec{X: x, Y: y - 60, Z: hill(x+0.5, y+0.4, 0.1) - 0.1}
	})
	goals := slide(6, 0.02)
	rough := false
	for range 8 {
		l := layerOn(t, lower, upper, goals)
		require.NoError(t, l.room(t.Context()))
		l.thick = make([]float64, len(l.most))
		for v, most := range l.most {
			if most < waxMost && rng.IntN(3) > 0 {
				l.thick[v] = most * min(1, 1.3*rng.Float64())
			}
		}
		waxed := func() *mesh.Mesh {
			m, err := surface.Moved(l.part.Mesh, l.directions(), func(v mesh.VertexID) float64 { return l.thick[v] })
			require.NoError(t, err)
			return m
		}
		at := func(g *goal) kinematics.Pose {
			h := g.Goal
			h.Opening += s1.Angle(open / 60)
			return h.Pose()
		}
		for i := range goals {
			require.False(t, crosses(upper, lower, goals[i].Pose()), "without wax")
			rough = rough || crosses(upper, waxed(), at(&goals[i]))
		}
		require.NoError(t, l.trim(t.Context()))
		for i := range goals {
			require.False(t, crosses(upper, waxed(), at(&goals[i])), "position %d", i)
		}
	}
	assert.True(t, rough)
}

// Wax that fills 0.8 mm between two plates is too thin for composite, which needs 1.0 mm on guiding
// cusps, and thick enough for monolithic ceramic, which needs 0.7 mm. Its edge counts for nothing, and
// neither does wax that no opposing tooth reaches.
func TestWaxTooThinForItsMaterial(t *testing.T) {
	plate := func(z float64) *mesh.Mesh {
		return testmesh.Shifted(testmesh.Plane(6, 30), r3.Vec{Y: -60, Z: z})
	}
	l := layerOn(t, plate(0), testmesh.Turned(plate(0.8)), []goal{{movement: findings.Closed}})
	l.tooth, l.cast = 46, oneTooth(t, plate(0), 46)
	f := l.cast.Frames[46]
	f.Occlusal, f.Buccal, f.Mesial = r3.Vec{Z: 1}, r3.Vec{X: -1}, r3.Vec{Y: -1}
	l.cast.Frames[46] = f
	require.NoError(t, l.room(t.Context()))
	l.thick = make([]float64, len(l.most))
	for v, p := range l.part.Mesh.Vertices() {
		if math.Hypot(p.X, p.Y+60) < 2 {
			l.thick[v] = l.most[v] * min(1, 10*(2-math.Hypot(p.X, p.Y+60)))
		}
	}
	says := l.thin(casefile.Composite)
	assert.Equal(t, "composite needs 1.0 mm at the outer face, 11 in intercuspation leaves 0.80 mm there: more room, or another material",
		says.String())
	assert.True(t, l.thin(casefile.MonolithicCeramic).Empty())
	assert.True(t, l.thin("").Empty())
	for v := range l.most {
		l.most[v] += 2 * reachedMM
	}
	assert.True(t, l.thin(casefile.Composite).Empty())

	molar := func(f anatomy.Feature) anatomy.Site { return anatomy.Site{Tooth: 26, Feature: f} }
	assert.InDelta(t, 1.5, needs[casefile.Metal].at(molar(anatomy.MesiolingualCusp)), 0)
	assert.InDelta(t, 1.0, needs[casefile.Metal].at(molar(anatomy.MesiobuccalCusp)), 0)
	assert.InDelta(t, 0.5, needs[casefile.Metal].at(anatomy.Site{Tooth: 11}), 0)
}
