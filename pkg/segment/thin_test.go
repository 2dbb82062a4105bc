package segment

import (
	"context"
	"math"
	"runtime"
	"slices"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// fineSheets is a wavy sheet of 20 mm a side with 80,000 triangles, and a plane one below it that it
// touches nowhere.
func fineSheets(t *testing.T) *mesh.Mesh {
	t.Helper()
	uneven := func(x, y, z float64) r3.Vec { // no two edges are equally long
		return r3.Vec{X: 20*x + 0.02*math.Sin(913*x+377*y), Y: 20*y + 0.02*math.Sin(611*x-1033*y), Z: z}
	}
	wave := sheet(t, 200, func(x, y float64) r3.Vec { return uneven(x, y, math.Sin(6*x)+math.Cos(5*y)) })
	low := sheet(t, 200, func(x, y float64) r3.Vec { return uneven(x, y, -2.1) })
	verts, tris := wave.Vertices(), wave.Triangles()
	n := mesh.VertexID(len(verts))
	verts = append(append([]r3.Vec{}, verts...), low.Vertices()...)
	tris = append([][3]mesh.VertexID{}, tris...)
	for _, c := range low.Triangles() {
		tris = append(tris, [3]mesh.VertexID{c[0] + n, c[1] + n, c[2] + n})
	}
	m, err := mesh.New(verts, tris)
	require.NoError(t, err)
	return m
}

func TestThin(t *testing.T) {
	m := fineSheets(t)
	got, err := thin(m)
	require.NoError(t, err)
	require.Less(t, got.mesh.NumTriangles(), m.NumTriangles()/3)
	for v, p := range m.Vertices() {
		q := got.mesh.Vertex(got.of[v])
		require.Less(t, r3.Norm(r3.Sub(p, q)), 2*patch)
	}
	// The sheets stay apart, though they come within a tenth of a millimetre of each other.
	topology := mesh.BuildTopology(got.mesh)
	require.Len(t, topology.Components(), 2)
	area := func(m *mesh.Mesh) (sum float64) {
		for i := range m.All() {
			sum += r3.Norm(m.AreaVector(i))
		}
		return sum
	}
	require.InEpsilon(t, area(m), area(got.mesh), 0.06)
	// It moves with the scan.
	turn := r3.NewRotation(0.7, r3.Vec{X: 1, Y: -2, Z: 0.5})
	moved, err := m.Transform(func(p r3.Vec) r3.Vec { return r3.Add(turn.Rotate(p), r3.Vec{X: 100}) })
	require.NoError(t, err)
	again, err := thin(moved)
	require.NoError(t, err)
	same := 0
	for v := range got.of {
		q := r3.Add(turn.Rotate(got.mesh.Vertex(got.of[v])), r3.Vec{X: 100})
		if r3.Norm(r3.Sub(q, again.mesh.Vertex(again.of[v]))) < patch/2 {
			same++
		}
	}
	require.Greater(t, same, len(got.of)*99/100)
}

// What is coarse already stays as it is.
func TestThinLeavesCoarseScans(t *testing.T) {
	for _, n := range []int{2, 3, 50} {
		m := sheet(t, n, func(x, y float64) r3.Vec { return r3.Vec{X: x, Y: y} })
		got, err := thin(m)
		require.NoError(t, err)
		require.Same(t, m, got.mesh)
		codes := make([]dentition.ToothID, m.NumVertices())
		require.Equal(t, codes, got.spread(codes))
	}
}

// A straight border between two teeth comes back straight: within half a patch.
func TestSpread(t *testing.T) {
	m := fineSheets(t)
	got, err := thin(m)
	require.NoError(t, err)
	codes := make([]dentition.ToothID, got.mesh.NumVertices())
	for v, p := range got.mesh.Vertices() {
		codes[v] = 11
		if p.X+0.5*p.Y > 14.2 {
			codes[v] = 21
		}
	}
	off, n := 0.0, 0
	for v, tooth := range got.spread(codes) {
		p := m.Vertex(mesh.VertexID(v))
		away := (p.X + 0.5*p.Y - 14.2) / math.Hypot(1, 0.5)
		if (away > 0) != (tooth == 21) {
			off = max(off, math.Abs(away))
			n++
		}
	}
	require.Less(t, off, patch/2+0.1)
	require.Less(t, n, m.NumVertices()/150)
}

// subdivided parts every triangle into four at the middles of its edges; those of triangle t come
// from 4t on.
func subdivided(t *testing.T, m *mesh.Mesh) *mesh.Mesh {
	verts := slices.Clone(m.Vertices())
	middles := map[[2]mesh.VertexID]mesh.VertexID{}
	middle := func(a, b mesh.VertexID) mesh.VertexID {
		key := [2]mesh.VertexID{min(a, b), max(a, b)}
		v, ok := middles[key]
		if !ok {
			v = mesh.VertexID(len(verts))
			verts = append(verts, r3.Scale(0.5, r3.Add(m.Vertex(a), m.Vertex(b))))
			middles[key] = v
		}
		return v
	}
	var tris [][3]mesh.VertexID
	for _, c := range m.All() {
		d := [3]mesh.VertexID{middle(c[1], c[2]), middle(c[2], c[0]), middle(c[0], c[1])}
		tris = append(tris, [3]mesh.VertexID{c[0], d[2], d[1]}, [3]mesh.VertexID{c[1], d[0], d[2]}, [3]mesh.VertexID{c[2], d[1], d[0]}, d)
	}
	out, err := mesh.New(verts, tris)
	require.NoError(t, err)
	return out
}

// The teeth of a scan are those of the same surface in sixteen times as many triangles: all the same names, each as sure within
// 0.1, and of the scan's vertices 9 of 10 on the same tooth; the rest lies along borders, which are not drawn worse. They
// do not depend on the number of cores.
func TestFineScansShowTheSameTeeth(t *testing.T) {
	c, err := typodont.Generate(context.Background(), typodont.Params{Triangles: 20000,
		Disturbances: []typodont.Disturbance{{Kind: typodont.Noise, Um: 20, MM: 0.8}}})
	require.NoError(t, err)
	for _, a := range []typodont.Arch{c.Upper, c.Lower} {
		want, err := Find(context.Background(), a.Mesh, a.Labels.Jaw(), Options{})
		require.NoError(t, err)
		fine := subdivided(t, subdivided(t, a.Mesh))
		require.Greater(t, fine.NumTriangles(), 256000)
		got, err := Find(context.Background(), fine, a.Labels.Jaw(), Options{})
		require.NoError(t, err)
		require.Equal(t, want.Labels.Teeth(), got.Labels.Teeth())
		for i, tooth := range want.Teeth {
			require.InDelta(t, tooth.Confidence, got.Teeth[i].Confidence, 0.1, "%v", tooth.Tooth)
		}
		agree := func(a, b *dentition.Labels) float64 { // share of the scan's vertices, which subdividing keeps
			same := 0
			for v := range mesh.VertexID(want.Labels.NumVertices()) {
				if a.Vertex(v) == b.Vertex(v) {
					same++
				}
			}
			return float64(same) / float64(want.Labels.NumVertices())
		}
		require.Greater(t, agree(got.Labels, want.Labels), 0.9)
		require.Greater(t, agree(got.Labels, a.Labels), agree(want.Labels, a.Labels)-0.01)
		if a.Labels.Jaw() == dentition.Lower {
			defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
			one, err := Find(context.Background(), fine, dentition.Lower, Options{})
			require.NoError(t, err)
			require.Equal(t, got, one)
		}
	}
}
