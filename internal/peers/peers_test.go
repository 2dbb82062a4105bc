package peers

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

const tolerance = 1e-6 // mm

// missing skips the test, or fails it where the peers are required.
func missing(t *testing.T, format string, args ...any) {
	t.Helper()
	if os.Getenv("CUSPTRACE_PEERS") == "require" {
		t.Fatalf(format, args...)
	}
	t.Skipf(format, args...)
}

// realFile is the path of a file of the real case, which is no part of the
// project; the test is skipped without it.
func realFile(t *testing.T, name string) string {
	t.Helper()
	path := filepath.Join("..", "..", "..", "shared", "data", "adult-cbct", name)
	if _, err := os.Stat(path); err != nil {
		t.Skipf("real case not at hand: %v", err)
	}
	return path
}

// madeFiles is two facing landscapes with loose triangles about them, as STL. CGAL asks for
// triangles with an area.
func madeFiles(t *testing.T) (upper, lower string) {
	t.Helper()
	rng := rand.New(rand.NewPCG(60, 1))
	dir := t.TempDir()
	for i, path := range []*string{&upper, &lower} {
		land := testmesh.Sheet(60, 60, func(u, v float64) r3.Vec {
			x, y := 40*(u-0.5), 40*(v-0.5)
			return r3.Vec{X: x, Y: y, Z: math.Sin(x+float64(i)) * math.Cos(0.8*y)}
		})
		soup := testmesh.Soup(rng, 400, 15, testmesh.Plain)
		m, _ := testmesh.Join(land, testmesh.Shifted(soup, r3.Vec{Z: float64(20 - 40*i)}))
		*path = filepath.Join(dir, string("ul"[i])+".stl")
		require.NoError(t, meshfile.WriteFile(*path, m, nil))
	}
	return upper, lower
}

// cases runs f on the made surfaces and on the real ones.
func cases(t *testing.T, f func(t *testing.T, upper, lower string)) {
	t.Run("made", func(t *testing.T) {
		upper, lower := madeFiles(t)
		f(t, upper, lower)
	})
	t.Run("adult-cbct", func(t *testing.T) { f(t, realFile(t, "upper.stl"), realFile(t, "lower.stl")) })
}

// build compiles one of the C++ programs.
func build(t *testing.T, name, header string, libs ...string) string {
	t.Helper()
	if testing.Short() {
		t.Skip("builds C++ programs")
	}
	cxx, err := exec.LookPath("g++")
	if err != nil {
		missing(t, "no C++ compiler: %v", err)
	}
	const eigen = "-I/usr/include/eigen3" // where Debian keeps it
	probe := exec.Command(cxx, "-std=c++17", "-E", "-x", "c++", eigen, "-o", os.DevNull, "-")
	probe.Stdin = bytes.NewBufferString("#include <" + header + ">\n")
	if err := probe.Run(); err != nil {
		missing(t, "<%s> not at hand (Debian: libcgal-dev, libfcl-dev): %v", header, err)
	}
	bin := filepath.Join(t.TempDir(), name)
	args := append([]string{"-std=c++17", "-O1", "-DNDEBUG", eigen, "-o", bin, filepath.Join("src", name+".cpp")}, libs...)
	if out, err := exec.Command(cxx, args...).CombinedOutput(); err != nil {
		t.Fatalf("%s does not build: %v\n%s", name, err, out)
	}
	return bin
}

// run writes the input, runs a program with further arguments before it, and
// reads the numbers that it leaves.
func run(t *testing.T, bin string, input []float64, args ...string) []float64 {
	t.Helper()
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in"), filepath.Join(dir, "out")
	var b bytes.Buffer
	require.NoError(t, binary.Write(&b, binary.LittleEndian, input))
	require.NoError(t, os.WriteFile(in, b.Bytes(), 0o600))
	if msg, err := exec.Command(bin, append(args, in, out)...).CombinedOutput(); err != nil {
		t.Fatalf("%s: %v\n%s", bin, err, msg)
	}
	raw, err := os.ReadFile(out)
	require.NoError(t, err)
	numbers := make([]float64, len(raw)/8)
	require.NoError(t, binary.Read(bytes.NewReader(raw), binary.LittleEndian, numbers))
	return numbers
}

func load(t *testing.T, path string) *mesh.Mesh {
	t.Helper()
	raw, err := meshfile.ReadFile(path, meshfile.ReadOptions{Unit: mesh.Millimetre})
	require.NoError(t, err)
	m, _ := mesh.Weld(raw, 0)
	return m
}

func indexed(t *testing.T, m *mesh.Mesh) *index.Index {
	t.Helper()
	x, err := index.New(context.Background(), m, nil, index.Options{})
	require.NoError(t, err)
	return x
}

func TestClosestPointsAgainstCGAL(t *testing.T) {
	bin := build(t, "closest", "CGAL/AABB_tree.h", "-lgmp", "-lmpfr")
	cases(t, func(t *testing.T, upper, lower string) {
		up := load(t, upper)
		x := indexed(t, up)
		rng := rand.New(rand.NewPCG(61, 1))
		var q []r3.Vec
		for i, v := range load(t, lower).Vertices() {
			if _, ok := x.Nearest(v, 5); ok && i%3 == 0 {
				q = append(q, v)
			}
		}
		require.Greater(t, len(q), 1000)
		for range 4000 { // on, near and around the upper arch itself
			v := up.Vertex(mesh.VertexID(rng.IntN(up.NumVertices())))
			q = append(q, v, r3.Add(v, testmesh.Vec(rng, 0.2)), r3.Add(v, testmesh.Vec(rng, 20)))
		}
		flat := make([]float64, 0, 3*len(q))
		for _, p := range q {
			flat = append(flat, p.X, p.Y, p.Z)
		}
		want := run(t, bin, flat, upper)
		require.Len(t, want, len(q))
		worst := 0.0
		for i, p := range q {
			h, ok := x.Nearest(p, math.Inf(1))
			require.True(t, ok)
			require.InDelta(t, h.Dist, r3.Norm(r3.Sub(p, h.Point)), tolerance)
			worst = max(worst, math.Abs(h.Dist-want[i]))
		}
		t.Logf("%d closest points, largest difference %.2g mm", len(q), worst)
		require.LessOrEqual(t, worst, tolerance)
	})
}

func TestLeastGapAgainstFCL(t *testing.T) {
	bin := build(t, "gap", "fcl/fcl.h", "-lfcl", "-lccd", "-loctomap", "-loctomath")
	rng := rand.New(rand.NewPCG(61, 2))
	poses := Sweep(61)
	for i := range 25 { // closing, from apart to crossing
		poses = append(poses, Jaw(1*s1.Degree, s1.Angle(2-0.1*float64(i))*s1.Degree))
	}
	for range 15 {
		shift := kinematics.Translation(testmesh.Vec(rng, 3))
		poses = append(poses, Jaw(s1.Angle(4*rng.Float64()-2)*s1.Degree, s1.Angle(3+9*rng.Float64())*s1.Degree).Then(shift))
	}
	var flat []float64
	for _, p := range poses {
		m := p.Matrix()
		flat = append(flat, m[:]...)
	}
	cases(t, func(t *testing.T, upper, lower string) {
		want := run(t, bin, flat, upper, lower)
		require.Len(t, want, len(poses))
		up, lo := indexed(t, load(t, upper)), indexed(t, load(t, lower))
		var s contact.GapScratch
		worst, touching := 0.0, 0
		for i, p := range poses {
			g, ok := contact.LeastGap(up, lo, p, math.Inf(1), &s)
			require.True(t, ok)
			worst = max(worst, math.Abs(g.Dist-want[i]))
			if want[i] == 0 {
				touching++
			}
		}
		t.Logf("%d poses, %d of them touching, largest difference %.2g mm", len(poses), touching, worst)
		require.LessOrEqual(t, worst, tolerance)
		require.Greater(t, touching, 3)
		require.Less(t, touching, len(poses)/2)
	})
}

// The distances of opposing teeth were found by VTK and Open3D and are
// written to 0.1 µm; a tooth is there the triangles whose three corners carry its
// label.
func TestGapsOfTeethAgainstTheReference(t *testing.T) {
	var ref struct {
		Cast []struct {
			Upper        int     `json:"upper"`
			Lower        int     `json:"lower"`
			Min          float64 `json:"min_distance_mm"`
			Intersecting bool    `json:"intersecting"`
		} `json:"cast"`
	}
	raw, err := os.ReadFile(realFile(t, "reference.json"))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(raw, &ref))
	require.Len(t, ref.Cast, 21)
	up, lo := teeth(t, "upper"), teeth(t, "lower")
	var s contact.GapScratch
	touching := 0
	for _, c := range ref.Cast {
		g, ok := contact.LeastGap(up[c.Upper], lo[c.Lower], kinematics.Pose{}, math.Inf(1), &s)
		require.True(t, ok)
		require.InDelta(t, c.Min, g.Dist, 0.5e-4+tolerance, "%d and %d", c.Upper, c.Lower)
		require.Equal(t, c.Intersecting, g.Dist == 0, "%d and %d", c.Upper, c.Lower)
		if c.Intersecting {
			touching++
		}
	}
	require.Equal(t, 5, touching)
}

// teeth is an index for each tooth of an arch.
func teeth(t *testing.T, jaw string) map[int]*index.Index {
	t.Helper()
	m := load(t, realFile(t, jaw+".stl"))
	var f struct{ Labels []int }
	raw, err := os.ReadFile(realFile(t, jaw+".labels.json"))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(raw, &f))
	require.Len(t, f.Labels, m.NumVertices())
	tris := map[int][][3]mesh.VertexID{}
	for _, c := range m.All() {
		if l := f.Labels[c[0]]; l != 0 && l == f.Labels[c[1]] && l == f.Labels[c[2]] {
			tris[l] = append(tris[l], c)
		}
	}
	out := map[int]*index.Index{}
	for l, list := range tris {
		tooth, err := mesh.New(m.Vertices(), list)
		require.NoError(t, err)
		out[l] = indexed(t, tooth)
	}
	return out
}
