// Package scene writes the casts and their movements for other programs: as glTF and
// as coloured meshes.
package scene

import (
	"bytes"
	"fmt"
	"maps"
	"math"

	"github.com/cusptrace/cusptrace/internal/portable"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/cusptrace/cusptrace/pkg/report/internal/paint"
	"github.com/cusptrace/cusptrace/pkg/report/internal/picture"
	"github.com/cusptrace/cusptrace/pkg/report/internal/plan"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
	"github.com/qmuntal/gltf"
	"github.com/qmuntal/gltf/modeler"
	"gonum.org/v1/gonum/spatial/r3"
)

// sceneSpeed is how fast the advancing condyle travels in the animations, mm a
// second: slow enough to see contacts follow each other.
const sceneSpeed = 2.0

// scene writes glTF 2.0: metres, +Y up, the face looking to +Z, so that the
// patient's left is +X (glTF 2.0 specification, 3.4).
type scene struct {
	doc              *gltf.Document
	tooth, gum, coat int // materials; the last one shows the colours of the vertices
}

// uses are the functions of marks along movements, with the colours of the occlusal chart.
var uses = [...]struct {
	use    plan.Use
	colour string
}{{plan.Working, "#1557b0"}, {plan.Nonworking, "#1d6b34"}, {plan.Forward, "#1d2b36"}}

// toScene takes mm of the articulator frame to metres of the scene.
func toScene(v r3.Vec) r3.Vec { return r3.Scale(0.001, turned(v)) }

// turned takes a direction of the articulator frame to the scene's.
func turned(v r3.Vec) r3.Vec { return r3.Vec{X: v.X, Y: v.Z, Z: -v.Y} }

func float3(v r3.Vec) [3]float32 { return [3]float32{float32(v.X), float32(v.Y), float32(v.Z)} }

// Casts is the casts as a binary glTF file with two scenes. In the first each arch is a
// node with a child for each tooth, named by its ISO 3950 code; marks of the contacts on
// both arches, in intercuspation and along each movement, by their function, are nodes of
// their own that can be switched; and each movement is an animation of the lower arch. In
// the second the closed casts are coloured by the clearance in intercuspation, which would
// be untrue while the jaw moves.
func Casts(f *findings.Findings, d *display.Display) ([]byte, error) {
	s := &scene{doc: gltf.NewDocument()}
	s.doc.Asset.Generator = "cusptrace"
	rest := picture.PoseOf(f.Settling.Pose, f.Centric.Pose)
	s.coat = s.material("clearance", paint.RGB{1, 1, 1})
	s.tooth, s.gum = s.material("tooth", paint.Hex(paint.ToothColour)), s.material("gingiva", paint.Hex(paint.GumColour))
	upper, upperMap := s.arch(dentition.Upper, &d.Upper, d.Maps[0].Upper)
	lower, lowerMap := s.arch(dentition.Lower, &d.Lower, d.Maps[0].Lower)

	black := s.material("mark", paint.Hex(paint.MarkColour))
	s.marks("marks in intercuspation", black, upper, lower, contactsOn(f.Centric.Contacts, rest))
	inks := map[plan.Use]int{}
	for _, u := range uses {
		inks[u.use] = s.material("mark "+string(u.use), paint.Hex(u.colour))
	}
	for i := range f.Excursions {
		x := &f.Excursions[i]
		of := map[plan.Use][]sceneMark{}
		for k := range x.Frames {
			p := picture.PoseOf(f.Settling.Pose, x.Frames[k].Pose)
			for _, m := range contactsOn(x.Frames[k].Contacts, p) {
				u := plan.UseOf(x.Movement, m.tooth)
				of[u] = append(of[u], m)
			}
		}
		for _, u := range uses {
			name := "marks " + string(x.Movement)
			if u.use != plan.Forward {
				name += " " + string(u.use)
			}
			s.marks(name, inks[u.use], upper, lower, of[u.use])
		}
	}
	// The condyles show where the axis is; they rest on it once settled.
	back := f.Settling.Pose.Inverse()
	for _, c := range [2]struct {
		name string
		x    float64
	}{{"condyle right", -f.Settings.IntercondylarMM / 2}, {"condyle left", f.Settings.IntercondylarMM / 2}} {
		t := toScene(back.Apply(r3.Vec{X: c.x}))
		s.child(lower, &gltf.Node{Name: c.name, Translation: [3]float64{t.X, t.Y, t.Z}})
	}
	q, t := placed(rest)
	for _, node := range [...]*gltf.Node{s.doc.Nodes[lower], s.doc.Nodes[lowerMap]} {
		node.Rotation, node.Translation = q, [3]float64{t.X, t.Y, t.Z}
	}
	for i := range f.Excursions {
		s.animate(&f.Excursions[i], f.Settling.Pose, lower)
	}
	s.doc.Nodes = append(s.doc.Nodes, &gltf.Node{Name: "casts", Children: []int{upper, lower}})
	s.doc.Scenes[0].Name, s.doc.Scenes[0].Nodes = "casts and movements", []int{len(s.doc.Nodes) - 1}
	s.doc.Nodes = append(s.doc.Nodes, &gltf.Node{Name: "clearance in intercuspation", Children: []int{upperMap, lowerMap}})
	s.doc.Scenes = append(s.doc.Scenes, &gltf.Scene{Name: "clearance in intercuspation", Nodes: []int{len(s.doc.Nodes) - 1}})
	var buf bytes.Buffer
	e := gltf.NewEncoder(&buf)
	e.AsBinary = true
	err := e.Encode(s.doc)
	return buf.Bytes(), err
}

func (s *scene) material(name string, c paint.RGB) int {
	l := linear(c)
	s.doc.Materials = append(s.doc.Materials, &gltf.Material{Name: name, DoubleSided: true, PBRMetallicRoughness: &gltf.PBRMetallicRoughness{
		BaseColorFactor: &[4]float64{l[0], l[1], l[2], 1}, MetallicFactor: gltf.Float(0), RoughnessFactor: gltf.Float(0.7),
	}})
	return len(s.doc.Materials) - 1
}

// linear undoes the curve of sRGB (IEC 61966-2-1), as glTF wants colours.
func linear(c paint.RGB) paint.RGB {
	for i, v := range c {
		if v <= 0.04045 {
			c[i] = v / 12.92
		} else {
			c[i] = portable.Exp(2.4 * portable.Log((v+0.055)/1.055))
		}
	}
	return c
}

func (s *scene) child(parent int, n *gltf.Node) {
	s.doc.Nodes = append(s.doc.Nodes, n)
	s.doc.Nodes[parent].Children = append(s.doc.Nodes[parent].Children, len(s.doc.Nodes)-1)
}

// arch adds an arch twice, as a node with a mesh for each tooth and one for the rest: plain,
// and coloured by clearance. Both share their vertices.
func (s *scene) arch(jaw dentition.Jaw, a *display.Surface, clearance []float64) (node, coloured int) {
	node, coloured = len(s.doc.Nodes), len(s.doc.Nodes)+1
	s.doc.Nodes = append(s.doc.Nodes, &gltf.Node{Name: jaw.String()}, &gltf.Node{Name: jaw.String() + " clearance"})
	var of [256][][3]int32
	for _, t := range a.Mesh.Triangles() {
		k := dentition.NoTooth
		if a.Teeth != nil {
			k = a.Teeth[t[0]]
			if b := a.Teeth[t[1]]; b == a.Teeth[t[2]] {
				k = b
			}
		}
		of[k] = append(of[k], [3]int32{int32(t[0]), int32(t[1]), int32(t[2])})
	}
	pal := paint.New()
	for k, triangles := range of {
		if len(triangles) == 0 {
			continue
		}
		name := dentition.ToothID(k).String()
		if dentition.ToothID(k) == dentition.NoTooth {
			name = jaw.String() + " gingiva"
			if a.Teeth == nil {
				name = jaw.String() + " surface"
			}
		}
		number := make(map[int32]uint32)
		var positions, normals [][3]float32
		var colours [][4]uint16
		var indices []uint32
		for _, t := range triangles {
			for _, v := range t {
				n, ok := number[v]
				if !ok {
					n = uint32(len(positions))
					number[v] = n
					positions = append(positions, float3(toScene(a.Mesh.Vertices()[v])))
					normals = append(normals, float3(unit(turned(a.Normals[v]))))
					base := pal.Tooth
					if a.Teeth != nil && a.Teeth[v] == dentition.NoTooth {
						base = pal.Gum
					}
					l := linear(pal.Clearance(clearance[v], paint.MapRange, base))
					var c [4]uint16
					for i := range l {
						c[i] = uint16(65535*min(1, max(0, l[i])) + 0.5)
					}
					c[3] = 65535
					colours = append(colours, c)
				}
				indices = append(indices, n)
			}
		}
		material := s.tooth
		if a.Teeth != nil && dentition.ToothID(k) == dentition.NoTooth {
			material = s.gum
		}
		places := gltf.PrimitiveAttributes{gltf.POSITION: modeler.WritePosition(s.doc, positions),
			gltf.NORMAL: modeler.WriteNormal(s.doc, normals)}
		at := modeler.WriteIndices(s.doc, indices)
		s.mesh(node, name, material, places, at)
		painted := maps.Clone(places)
		painted[gltf.COLOR_0] = modeler.WriteColor(s.doc, colours)
		s.mesh(coloured, name+" clearance", s.coat, painted, at)
	}
	return node, coloured
}

// mesh adds a mesh of triangles whose corners are the accessor at.
func (s *scene) mesh(parent int, name string, material int, attributes gltf.PrimitiveAttributes, at int) {
	s.doc.Meshes = append(s.doc.Meshes, &gltf.Mesh{Name: name,
		Primitives: []*gltf.Primitive{{Attributes: attributes, Indices: &at, Material: &material}}})
	s.child(parent, &gltf.Node{Name: name, Mesh: gltf.Index(len(s.doc.Meshes) - 1)})
}

// unit is v with length 1, or up where it has none.
func unit(v r3.Vec) r3.Vec {
	if l := r3.Norm(v); l > 0 {
		return r3.Scale(1/l, v)
	}
	return r3.Vec{Y: 1}
}

// sceneMark is a spot on both arches, each in its own frame: where it is and
// which way the surface faces.
type sceneMark struct {
	tooth          dentition.ToothID // the upper one, or the lower one where there is none
	upper, lower   r3.Vec
	upperN, lowerN r3.Vec
	radius         float64
}

// contactsOn are the contacts within the thinnest foil under a pose.
func contactsOn(contacts []findings.Contact, pose kinematics.Pose) []sceneMark {
	back := pose.Inverse()
	thinnest := findings.Foil(math.Inf(1))
	for _, c := range contacts {
		thinnest = min(thinnest, c.FoilUm)
	}
	var out []sceneMark
	for _, c := range contacts {
		if c.FoilUm != thinnest {
			continue
		}
		at := r3.Vec{X: c.PointMM[0], Y: c.PointMM[1], Z: c.PointMM[2]}
		n := r3.Vec{X: c.Normal[0], Y: c.Normal[1], Z: c.Normal[2]} // from the lower to the upper arch
		tooth := c.Upper
		if tooth == 0 {
			tooth = c.Lower
		}
		out = append(out, sceneMark{
			tooth: dentition.ToothID(tooth),
			upper: at, upperN: r3.Scale(-1, n),
			lower: back.Apply(r3.Sub(at, r3.Scale(c.GapUm/1000, n))), lowerN: back.Rotate(n),
			radius: max(0.3, math.Sqrt(c.AreaMM2/math.Pi)),
		})
	}
	return out
}

// Marks are discs that float a little above the surface.
const (
	discSides = 12
	discLift  = 0.06 // mm
)

// marks adds discs to both arches.
func (s *scene) marks(name string, material int, upper, lower int, marks []sceneMark) {
	if len(marks) == 0 {
		return
	}
	for k, parent := range [2]int{upper, lower} {
		var positions, normals [][3]float32
		var indices []uint32
		for _, m := range marks {
			at, n := m.upper, m.upperN
			if k == 1 {
				at, n = m.lower, m.lowerN
			}
			n = unit(n)
			at = r3.Add(at, r3.Scale(discLift, n))
			e := unit(r3.Cross(n, r3.Vec{X: 1}))
			if math.Abs(n.X) > 0.9 {
				e = unit(r3.Cross(n, r3.Vec{Y: 1}))
			}
			g := r3.Cross(n, e)
			first := uint32(len(positions))
			for i := range discSides {
				sin, cos := math.Sincos(2 * math.Pi * float64(i) / discSides)
				positions = append(positions, float3(toScene(r3.Add(at, r3.Add(r3.Scale(m.radius*cos, e), r3.Scale(m.radius*sin, g))))))
				normals = append(normals, float3(turned(n)))
				if i >= 2 {
					indices = append(indices, first, first+uint32(i)-1, first+uint32(i))
				}
			}
		}
		jaw := [2]dentition.Jaw{dentition.Upper, dentition.Lower}[k]
		s.mesh(parent, name+" "+jaw.String(), material, gltf.PrimitiveAttributes{
			gltf.POSITION: modeler.WritePosition(s.doc, positions),
			gltf.NORMAL:   modeler.WriteNormal(s.doc, normals),
		}, modeler.WriteIndices(s.doc, indices))
	}
}

// placed is a pose as rotation (x, y, z, w) and translation of the scene.
func placed(p kinematics.Pose) ([4]float64, r3.Vec) {
	m := p.Matrix()
	// Jaws turn by far less than 180°, so that w is never small.
	w := math.Sqrt(max(0, 1+m[0]+m[5]+m[10])) / 2
	v := turned(r3.Scale(1/(4*w), r3.Vec{X: m[9] - m[6], Y: m[2] - m[8], Z: m[4] - m[1]}))
	l := math.Sqrt(w*w + r3.Norm2(v))
	return [4]float64{v.X / l, v.Y / l, v.Z / l, w / l}, toScene(p.Offset())
}

// animate adds a movement.
func (s *scene) animate(x *findings.Excursion, settling findings.Pose, lower int) {
	if len(x.Frames) == 0 {
		return
	}
	var times []float32
	var turns [][4]float32
	var ways [][3]float32
	for i := range x.Frames {
		q, t := placed(picture.PoseOf(settling, x.Frames[i].Pose))
		times = append(times, float32((x.Frames[i].TravelMM-x.Frames[0].TravelMM)/sceneSpeed))
		turns = append(turns, [4]float32{float32(q[0]), float32(q[1]), float32(q[2]), float32(q[3])})
		ways = append(ways, float3(t))
	}
	at := modeler.WriteAccessor(s.doc, gltf.TargetNone, times)
	s.doc.Accessors[at].Min, s.doc.Accessors[at].Max = []float64{float64(times[0])}, []float64{float64(times[len(times)-1])}
	a := &gltf.Animation{Name: string(x.Movement)}
	for i, out := range [2]int{modeler.WriteAccessor(s.doc, gltf.TargetNone, turns), modeler.WriteAccessor(s.doc, gltf.TargetNone, ways)} {
		a.Samplers = append(a.Samplers, &gltf.AnimationSampler{Input: at, Output: out})
		a.Channels = append(a.Channels, &gltf.AnimationChannel{Sampler: i, Target: gltf.AnimationChannelTarget{
			Node: gltf.Index(lower), Path: [2]gltf.TRSProperty{gltf.TRSRotation, gltf.TRSTranslation}[i],
		}})
	}
	s.doc.Animations = append(s.doc.Animations, a)
}

// Clearances are the scans, in the scan frame, coloured by the clearance at
// rest, and the teeth that will be restored, by the least clearance in all
// positions.
func Clearances(d *display.Display) ([]File, error) {
	pal := paint.New()
	var out []File
	type coloured struct {
		name string
		mesh *mesh.Mesh
		gap  []float64
	}
	all := []coloured{{"clearance-upper.ply", d.Full.UpperMesh, d.Full.Upper}, {"clearance-lower.ply", d.Full.LowerMesh, d.Full.Lower}}
	for _, r := range d.Rooms {
		all = append(all, coloured{words.RoomFile(r.Tooth), r.Mesh, r.LeastMM})
	}
	for _, a := range all {
		colours := make([]meshfile.RGB, len(a.gap))
		for i, g := range a.gap {
			colours[i] = pal.Clearance(g, paint.MapRange, pal.Tooth).Bytes()
		}
		var buf bytes.Buffer
		// Programs read it; it is in English, as the names in findings.json are.
		what := fmt.Sprintf("colours: clearance from 0 mm (%s) to %g mm (%s), more plain, overlap %s", paint.MapStops[0], paint.MapRange,
			paint.MapStops[len(paint.MapStops)-1], paint.OverlapColour)
		if err := meshfile.WritePLY(&buf, a.mesh, colours, what); err != nil {
			return nil, err
		}
		out = append(out, File{a.name, buf.Bytes()})
	}
	return out, nil
}

// File is a file and its name.
type File struct {
	Name    string
	Content []byte
}
