package inspect

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func TestReportOfAPlate(t *testing.T) {
	r := Surface(testmesh.With(testmesh.Grid(4), [3]mesh.VertexID{0, 0, 1}))
	require.Equal(t, 33, r.Triangles)
	require.Equal(t, 25, r.Vertices)
	require.Zero(t, r.CoincidentVertices+r.UnusedVertices+r.FlippedTriangles+r.DuplicateTriangles)
	require.Equal(t, 1, r.DegenerateTriangles)
	require.Equal(t, 16.0, r.AreaMM2)
	require.Equal(t, [3]float64{4, 4, 0}, r.SizeMM)
	require.Equal(t, [3]float64{4, 4, 0}, r.MaxMM)
	require.Equal(t, EdgeLengths{Count: 56, MinMM: 1, MedianMM: 1, MaxMM: math.Sqrt2}, r.Edges)
	require.Equal(t, 16.0, r.BoundaryLengthMM)
	require.Equal(t, []LoopReport{{FirstVertex: 0, Edges: 16, LengthMM: 16, CentreMM: [3]float64{2, 2, 0}, Closed: true}}, r.LongestLoops)
	require.Equal(t, []ComponentReport{{FirstTriangle: 0, Triangles: 32, AreaMM2: 16, Orientable: true}}, r.LargestComponents)
}

func TestReportCountsDefects(t *testing.T) {
	plate := testmesh.Grid(4)
	verts := append(append([]r3.Vec(nil), plate.Vertices()...), r3.Vec{X: 4, Y: 4}, r3.Vec{X: 9}, r3.Vec{X: 2, Y: 1e-7})
	tris := append(append([][3]mesh.VertexID(nil), plate.Triangles()...), [3]mesh.VertexID{0, 1, 6},
		[3]mesh.VertexID{20, 21, 27}, [3]mesh.VertexID{0, 4, 27})
	r := Surface(testmesh.New(verts, tris))
	require.Equal(t, 1, r.CoincidentVertices, "(4, 4) comes twice")
	require.Equal(t, 2, r.UnusedVertices)
	require.Equal(t, 1, r.DuplicateTriangles)
	require.Equal(t, 1, r.DegenerateTriangles, "0.1 nm high")
	require.Equal(t, 2, r.NonManifoldEdges)
	require.Equal(t, 1, r.InconsistentEdges, "the duplicate has a border edge, in the same direction")
	require.Equal(t, 2, r.Components)
	require.Equal(t, [3]float64{4, 4, 0}, r.SizeMM, "what is in no triangle has no size")
}

// A height of 1 nm is the limit, whichever side the triangle is long on.
func TestDegenerateTriangles(t *testing.T) {
	for _, c := range []struct {
		height float64
		want   int
	}{{0, 1}, {0.9e-6, 1}, {1.1e-6, 0}} {
		for k := range 3 {
			m := testmesh.New([]r3.Vec{{}, {X: 10}, {X: 3, Y: c.height}},
				[][3]mesh.VertexID{{mesh.VertexID(k), mesh.VertexID((k + 1) % 3), mesh.VertexID((k + 2) % 3)}})
			require.Equal(t, c.want, Surface(m).DegenerateTriangles, "%g", c.height)
		}
	}
}

func TestLongListsAreCut(t *testing.T) {
	r := Surface(testmesh.Unwelded(testmesh.Grid(5)))
	require.Equal(t, 50, r.Components)
	require.Len(t, r.LargestComponents, MaxListed)
	require.Len(t, r.LongestLoops, MaxListed)
	require.Equal(t, 50, r.BoundaryLoops)
	require.Equal(t, 150-36, r.CoincidentVertices)
	var text strings.Builder
	require.NoError(t, r.WriteText(&text))
	require.Contains(t, text.String(), "150, 114 of them at the place of another: not welded\n")
	require.Contains(t, text.String(), "and 45 more\n")
}

// A shell open below is turned into every direction and inside out; what the
// report says turns with it.
func TestWhichArchAShellCanBe(t *testing.T) {
	shell := testmesh.Trough(60)
	topo := mesh.BuildTopology(shell)
	require.Len(t, topo.Edges(), (3*shell.NumTriangles()+82)/2)
	require.Len(t, topo.Components(), 1)
	require.Len(t, topo.Loops(), 1)
	require.Equal(t, 82, topo.Loops()[0].Edges())
	turn := map[string]func(r3.Vec) r3.Vec{
		"+z": func(v r3.Vec) r3.Vec { return v },
		"-z": func(v r3.Vec) r3.Vec { return r3.Vec{X: v.X, Y: -v.Y, Z: -v.Z} },
		"+x": func(v r3.Vec) r3.Vec { return r3.Vec{X: v.Z, Y: v.Y, Z: -v.X} },
		"-x": func(v r3.Vec) r3.Vec { return r3.Vec{X: -v.Z, Y: v.Y, Z: v.X} },
		"+y": func(v r3.Vec) r3.Vec { return r3.Vec{X: v.X, Y: v.Z, Z: -v.Y} },
		"-y": func(v r3.Vec) r3.Vec { return r3.Vec{X: v.X, Y: -v.Z, Z: v.Y} },
	}
	for side, f := range turn {
		m, err := shell.Transform(f)
		require.NoError(t, err)
		for _, inside := range []bool{false, true} {
			want := ArchReport{ServesAs: ServesEither, OcclusalSide: side, Normals: FacingOutward}
			switch side {
			case "-z":
				want.ServesAs = ServesUpper
			case "+z":
				want.ServesAs = ServesLower
			}
			if inside {
				want.Normals = FacingInward
			}
			got := Arch(mesh.BuildTopology(testmesh.Flip(m, func(mesh.TriID) bool { return inside })))
			up := f(r3.Vec{Z: 1})
			require.InDeltaSlice(t, []float64{up.X, up.Y, up.Z}, got.OcclusalDirection[:], 1e-9)
			require.Equal(t, want.ServesAs, got.ServesAs)
			require.Equal(t, want.OcclusalSide, got.OcclusalSide)
			require.Equal(t, want.Normals, got.Normals)
			// A turned-over patch is a defect, not another arch.
			patched := Arch(mesh.BuildTopology(testmesh.Flip(m, func(i mesh.TriID) bool { return inside != (i < 30) })))
			require.Equal(t, want.ServesAs, patched.ServesAs)
			require.Equal(t, want.Normals, patched.Normals)
		}
	}
}

func TestWhatNoArchCanBe(t *testing.T) {
	for name, c := range map[string]struct {
		m    *mesh.Mesh
		want Service
		says string
	}{
		"nothing":     {testmesh.New(nil, nil), ServesNeither, "it has no surface"},
		"flat points": {testmesh.New(make([]r3.Vec, 3), [][3]mesh.VertexID{{0, 1, 2}}), ServesNeither, "it has no surface"},
		"a tooth":     {testmesh.Trough(10), ServesNeither, "its largest side is 10 mm, a whole dental arch has 50 to 90 mm"},
		"metres":      {testmesh.Trough(60000), ServesNeither, "its largest side is 6e+04 mm"},
		"closed":      {scaled(t, testmesh.Tetrahedron(), 40), ServesEither, "it is closed"},
		"a cast":      {testmesh.With(testmesh.Trough(60), soles()...), ServesEither, "it is closed"},
		"with a hole": {testmesh.With(testmesh.Trough(60), soles()[1:]...), ServesEither, "it has holes, but no open side"},
		"a flat film": {scaled(t, testmesh.Grid(4), 15), ServesLower, "its borders run at the height of the surface"},
	} {
		t.Run(name, func(t *testing.T) {
			r := Surface(c.m)
			require.Equal(t, c.want, r.Arch.ServesAs)
			require.Contains(t, strings.Join(r.Arch.Reasons, "\n"), c.says)
		})
	}
}

// soles close the trough below.
func soles() [][3]mesh.VertexID {
	var tris [][3]mesh.VertexID
	for i := range mesh.VertexID(40) {
		outer, inner := 6*i, 6*i+5
		tris = append(tris, [3]mesh.VertexID{outer, inner, outer + 6}, [3]mesh.VertexID{outer + 6, inner, inner + 6})
	}
	return tris
}

func scaled(t *testing.T, m *mesh.Mesh, f float64) *mesh.Mesh {
	s, err := m.Transform(func(v r3.Vec) r3.Vec { return r3.Scale(f, v) })
	require.NoError(t, err)
	return s
}

// Counts and sizes as the data's own checks say, found by other programs.
func TestReportOfTheRealArches(t *testing.T) {
	for file, want := range map[string]Service{"upper.stl": ServesUpper, "lower.stl": ServesLower} {
		m, err := meshfile.ReadFile(sharedFile(t, file), meshfile.ReadOptions{Unit: mesh.Millimetre})
		require.NoError(t, err)
		m, _ = mesh.Weld(m, 0)
		r := Surface(m)
		require.Equal(t, 1, r.Components)
		require.Equal(t, 1, r.BoundaryLoops)
		require.True(t, r.LongestLoops[0].Closed)
		require.True(t, r.LargestComponents[0].Orientable)
		require.Zero(t, r.NonManifoldEdges+r.InconsistentEdges+r.FlippedTriangles+r.DuplicateTriangles+
			r.DegenerateTriangles+r.CoincidentVertices+r.UnusedVertices)
		require.Equal(t, 1, r.Vertices-r.Edges.Count+r.Triangles, "Euler characteristic of a disc")
		require.Equal(t, want, r.Arch.ServesAs, "the data is in LPS axes")
		require.Equal(t, FacingOutward, r.Arch.Normals)
	}
}

func TestReportOfTheRealCrowns(t *testing.T) {
	data := readShared(t, "checks.json")
	var checks struct {
		Crowns map[string]struct {
			Vertices      int     `json:"vertices"`
			Triangles     int     `json:"triangles"`
			Components    int     `json:"components"`
			BoundaryLoops int     `json:"boundary_loops"`
			BoundaryEdges int     `json:"boundary_edges"`
			NonManifold   int     `json:"nonmanifold_edges"`
			Inconsistent  int     `json:"inconsistent_edges"`
			Area          float64 `json:"area_mm2"`
			MedianEdge    float64 `json:"median_edge_mm"`
			MaxEdge       float64 `json:"max_edge_mm"`
		} `json:"crowns"`
	}
	require.NoError(t, json.Unmarshal(data, &checks))
	require.Len(t, checks.Crowns, 29)
	for code, want := range checks.Crowns {
		m, err := meshfile.ReadFile(sharedFile(t, "crowns/"+code+".stl"), meshfile.ReadOptions{Unit: mesh.Millimetre})
		require.NoError(t, err)
		m, _ = mesh.Weld(m, 0)
		r := Surface(m)
		require.Equal(t, []int{want.Vertices, want.Triangles, want.Components, want.BoundaryLoops, want.NonManifold, want.Inconsistent},
			[]int{r.Vertices, r.Triangles, r.Components, r.BoundaryLoops, r.NonManifoldEdges, r.InconsistentEdges}, code)
		edges := 0
		for _, l := range r.LongestLoops {
			edges += l.Edges
		}
		require.Equal(t, want.BoundaryEdges, edges, code)
		require.InEpsilon(t, want.Area, r.AreaMM2, 1e-6, code)
		require.InEpsilon(t, want.MedianEdge, r.Edges.MedianMM, 1e-4, code)
		require.InEpsilon(t, want.MaxEdge, r.Edges.MaxMM, 1e-6, code)
	}
}

func TestReportText(t *testing.T) {
	var text bytes.Buffer
	require.NoError(t, Surface(testmesh.Trough(60)).WriteText(&text))
	require.Equal(t, `triangles              408
vertices               246
components             1
borders                1, together 177 mm
                       177 mm, 82 edges, around (0.0, 15.5, 0.0)
non-manifold edges     0
inconsistent edges     0
flipped triangles      0
duplicate triangles    0
degenerate triangles   0
size                   60.00 × 30.00 × 10.00 mm
area                   2555.0 mm²
edge lengths           1.57 to 11.2 mm, median 5 mm
can serve as           lower arch
normals point          outward
                       it is open on the -z side, so its teeth face +z: a lower arch, if z points to the head
`, text.String())
}

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestWriteErrorsAreReported(t *testing.T) {
	require.EqualError(t, Surface(testmesh.Trough(60)).WriteText(fullDisk{}), "disk full")
}
