package report_test

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/qmuntal/gltf"
	"github.com/qmuntal/gltf/modeler"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
)

func sceneOf(t *testing.T) (*gltf.Document, map[string][]byte, *findings.Findings) {
	m, err := theReport()
	require.NoError(t, err)
	var doc gltf.Document
	require.NoError(t, gltf.NewDecoder(bytes.NewReader(m.files["scene.glb"])).Decode(&doc))
	return &doc, m.files, m.findings
}

// The animation of each movement, read back by the library, takes points of the
// lower arch where the findings do: metres, +Y up.
func TestSceneMovesAsTheFindingsSay(t *testing.T) {
	doc, _, f := sceneOf(t)
	require.Len(t, doc.Animations, len(f.Excursions))
	settled := f.Settling.Pose
	toScene := func(v r3.Vec) r3.Vec { return r3.Vec{X: v.X / 1000, Y: v.Z / 1000, Z: -v.Y / 1000} }
	for k, x := range f.Excursions {
		a := doc.Animations[k]
		require.Equal(t, string(x.Movement), a.Name)
		read := func(i int) any {
			require.Equal(t, "lower", doc.Nodes[*a.Channels[i].Target.Node].Name)
			out, err := modeler.ReadAccessor(doc, doc.Accessors[a.Samplers[a.Channels[i].Sampler].Output], nil)
			require.NoError(t, err)
			return out
		}
		turns, ways := read(0).([][4]float32), read(1).([][3]float32)
		require.Len(t, turns, len(x.Frames))
		for i := range x.Frames {
			p := x.Frames[i].Pose.Pose
			q := turns[i]
			n := quat.Number{Real: float64(q[3]), Imag: float64(q[0]), Jmag: float64(q[1]), Kmag: float64(q[2])}
			for _, at := range []r3.Vec{{}, {X: 25, Y: -30, Z: -40}, {X: -3, Y: -80, Z: -35}} {
				s := toScene(at)
				v := quat.Mul(quat.Mul(n, quat.Number{Imag: s.X, Jmag: s.Y, Kmag: s.Z}), quat.Conj(n))
				got := r3.Vec{X: v.Imag + float64(ways[i][0]), Y: v.Jmag + float64(ways[i][1]), Z: v.Kmag + float64(ways[i][2])}
				// Single precision of a rotation, 100 mm from the axis: 0.01 µm a step.
				require.InDelta(t, 0, r3.Norm(r3.Sub(got, toScene(settled.Then(p).Apply(at)))), 1e-7, "%s frame %d", x.Movement, i)
			}
		}
	}
}

func TestSceneHasTeethByCode(t *testing.T) {
	doc, _, f := sceneOf(t)
	names := map[string]bool{}
	for _, n := range doc.Nodes {
		require.False(t, names[n.Name], "two nodes are called %s", n.Name)
		names[n.Name] = true
	}
	for _, tooth := range f.Centric.Teeth {
		require.True(t, names[tooth.Tooth.String()], "no node %v", tooth.Tooth)
	}
	for _, n := range []string{"upper", "lower", "condyle right", "condyle left", "marks in intercuspation upper"} {
		require.True(t, names[n], "no node %s", n)
	}
	// Marks of each movement are nodes of their own, by their function; the canine guides on
	// the working side.
	for _, x := range f.Excursions {
		name := "marks " + string(x.Movement)
		if x.Movement != findings.Protrusive {
			name += " working"
		}
		require.True(t, names[name+" upper"] && names[name+" lower"], name)
	}
}

// While the jaw moves no tooth has the colours of intercuspation: those are in a scene of
// their own, on the same vertices.
func TestSceneMovesWithoutColoursOfClosure(t *testing.T) {
	doc, _, f := sceneOf(t)
	require.Len(t, doc.Scenes, 2)
	var coloured func(node int) (yes, no int)
	coloured = func(node int) (yes, no int) {
		n := doc.Nodes[node]
		if n.Mesh != nil {
			if _, ok := doc.Meshes[*n.Mesh].Primitives[0].Attributes[gltf.COLOR_0]; ok {
				yes++
			} else {
				no++
			}
		}
		for _, c := range n.Children {
			y, o := coloured(c)
			yes, no = yes+y, no+o
		}
		return yes, no
	}
	yes, no := coloured(doc.Scenes[0].Nodes[0])
	require.Zero(t, yes)
	require.Greater(t, no, len(f.Centric.Teeth))
	yes, no = coloured(doc.Scenes[1].Nodes[0])
	require.Zero(t, no)
	require.GreaterOrEqual(t, yes, len(f.Centric.Teeth))
}

// The Khronos validator finds no error and no warning. It runs where the npm
// packages of internal/view are installed.
func TestSceneIsValid(t *testing.T) {
	validator := filepath.Join("internal", "view", "node_modules", "gltf-validator")
	if _, err := os.Stat(validator); err != nil {
		if os.Getenv("CUSPTRACE_BROWSER") == "require" {
			t.Fatal("gltf-validator is not installed: run npm ci in pkg/report/internal/view")
		}
		t.Skip("gltf-validator is not installed: run npm ci in pkg/report/internal/view")
	}
	_, files, _ := sceneOf(t)
	path := filepath.Join(t.TempDir(), "scene.glb")
	require.NoError(t, os.WriteFile(path, files["scene.glb"], 0o600))
	out, err := exec.Command("node", filepath.Join("internal", "view", "validate.cjs"), path).Output()
	require.NoError(t, err, "%s", out)
	var r struct {
		Errors, Warnings int
		Messages         []any
	}
	require.NoError(t, json.Unmarshal(out, &r))
	require.Zero(t, r.Errors+r.Warnings, "%v", r.Messages)
}

// The coloured scans have the vertices of the scans, in the scan frame.
func TestClearanceFilesReadBack(t *testing.T) {
	_, files, f := sceneOf(t)
	for name, scan := range map[string]findings.ScanInfo{"clearance-upper.ply": f.Scans.Upper, "clearance-lower.ply": f.Scans.Lower} {
		path := filepath.Join(t.TempDir(), name)
		require.NoError(t, os.WriteFile(path, files[name], 0o600))
		m, err := meshfile.ReadFile(path, meshfile.ReadOptions{Unit: mesh.Millimetre})
		require.NoError(t, err)
		require.Equal(t, scan.Vertices, m.NumVertices())
		require.Equal(t, scan.Triangles, m.NumTriangles())
		b := m.Bounds()
		require.Less(t, math.Abs(b.Max.X+b.Min.X), 1.0, "the synthetic case is symmetrical about x = 0 in its scan frame")
		require.Contains(t, string(files[name][:400]), "property uchar red")
		require.Contains(t, string(files[name][:400]), "comment colours: clearance from 0 mm (#440154) to 1 mm (#fde725)")
	}
}
