// Package view packs the casts and their movements for the 3D view of the page.
package view

import (
	"bytes"
	"compress/flate"
	"compress/gzip"
	"embed"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"errors"
	"html/template"
	"io"
	"io/fs"
	"math"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/report/internal/paint"
	"github.com/cusptrace/cusptrace/pkg/report/internal/picture"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
	"gonum.org/v1/gonum/spatial/r3"
)

// Built holds the 3D view once it is built; a build without it works.
//
//go:embed dist
var Built embed.FS

// Bundle is the 3D view with its data.
type Bundle struct {
	Script template.JS
	Facts  template.JS   // JSON
	Data   template.HTML // base64 of the surfaces and maps
	Room   bool          // there is a map of the room over teeth to be restored
}

// viewFacts is what the view is told in JSON; numbers are those of the findings.
type viewFacts struct {
	Upper     viewArch        `json:"upper"`
	Lower     viewArch        `json:"lower"`
	Maps      []viewMap       `json:"maps"`
	Room      bool            `json:"room"` // the last map of each arch is that of the room
	Foils     []findings.Foil `json:"foils"`
	Colours   []string        `json:"colours"`
	Tooth     string          `json:"tooth"`
	Gum       string          `json:"gum"`
	Overlap   string          `json:"overlap"`
	Settling  findings.Pose   `json:"settling"`
	Closed    viewFrame       `json:"closed"`
	Movements []viewMovement  `json:"movements"`
	// Words are what the view says, by their keys, with placeholders left to fill.
	Words map[string]string `json:"words"`
}

// viewArch says how the arrays of an arch lie in the data, one after the other:
// positions (16 bits, in steps from min), normals (8 bits), teeth (8 bits),
// corners (16 or 32 bits), then each map (16 bits, µm) and,
// if there is one, that of the room. Arrays of more than 8
// bits hold differences between neighbours.
type viewArch struct {
	Vertices  int        `json:"vertices"`
	Triangles int        `json:"triangles"`
	Min       [3]float64 `json:"min"`
	Step      float64    `json:"step"`
	Teeth     []viewCode `json:"teeth"`
}

type viewCode struct {
	Code    string     `json:"code"`
	Number  int        `json:"number"`
	Name    string     `json:"name"`
	Centre  [3]float64 `json:"centre"`
	Outward [3]float64 `json:"outward"`
}

type viewMap struct {
	Movement findings.Movement `json:"movement"`
	Travel   float64           `json:"travel"`
}

type viewMovement struct {
	Movement findings.Movement `json:"movement"`
	Title    string            `json:"title"`
	Frames   []viewFrame       `json:"frames"`
}

type viewFrame struct {
	Travel    float64            `json:"travel"`
	Opening   float64            `json:"opening"`
	Pose      findings.Pose      `json:"pose"`
	Carrier   *findings.Touch    `json:"carrier,omitempty"`
	Contacts  []viewContact      `json:"contacts"`
	Clearance map[string]float64 `json:"clearance,omitempty"`
}

// unpacked is the script of the view.
func unpacked(built fs.FS) ([]byte, error) {
	f, err := built.Open("dist/view.js.gz")
	if err != nil {
		return nil, err
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		return nil, err
	}
	return io.ReadAll(z)
}

// viewContact is a contact with its outline in the frame of the findings, rounded for
// drawing: the middle, the direction of the first reach and the reaches, mm.
type viewContact struct {
	findings.Contact
	Middle [3]float64               `json:"middle"`
	Along  [3]float64               `json:"along"`
	Reach  [display.Sectors]float64 `json:"reach"`
}

func outlined(list []findings.Contact, outlines []display.Outline) []viewContact {
	out := make([]viewContact, len(list))
	for i := range list {
		o := &outlines[i]
		out[i] = viewContact{Contact: list[i], Middle: short(o.Middle), Along: short(o.Along)}
		for k, r := range o.Reach {
			out[i].Reach[k] = math.Round(100*r) / 100
		}
	}
	return out
}

func short(v r3.Vec) [3]float64 {
	return [3]float64{math.Round(1000*v.X) / 1000, math.Round(1000*v.Y) / 1000, math.Round(1000*v.Z) / 1000}
}

// New takes the view from where it was built; nil where it was not.
func New(built fs.FS, l *language.Language, f *findings.Findings, d *display.Display) (*Bundle, error) {
	script, err := unpacked(built)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	if bytes.Contains(bytes.ToLower(script), []byte("</script")) {
		return nil, errors.New("the 3D view would end its own script")
	}
	r := words.Reader{Language: l, Notation: f.Notation}
	v := viewFacts{Words: spoken(l), Foils: words.FoilsOf(f), Colours: paint.MapStops[:], Tooth: paint.ToothColour,
		Gum: paint.GumColour, Overlap: paint.OverlapColour, Settling: f.Settling.Pose,
		Closed: viewFrame{Opening: f.Centric.OpeningDeg, Pose: f.Centric.Pose, Contacts: outlined(f.Centric.Contacts, d.Outlines.Closed)}}
	for _, m := range d.Maps {
		v.Maps = append(v.Maps, viewMap{m.Movement, m.TravelMM})
	}
	for i := range f.Excursions {
		x := &f.Excursions[i]
		m := viewMovement{Movement: x.Movement, Title: r.Say("movement.short." + string(x.Movement))}
		for k := range x.Frames {
			fr := &x.Frames[k]
			m.Frames = append(m.Frames, viewFrame{fr.TravelMM, fr.OpeningDeg, fr.Pose, fr.Carrier, outlined(fr.Contacts, d.Outlines.Moving[i][k]),
				fr.ClearanceMM})
		}
		v.Movements = append(v.Movements, m)
	}
	var upper, lower [][]float64
	for i := range d.Maps {
		upper, lower = append(upper, d.Maps[i].Upper), append(lower, d.Maps[i].Lower)
	}
	if v.Room = len(d.Rooms) > 0; v.Room {
		upper, lower = append(upper, roomOn(&d.Upper, dentition.Upper, d.Rooms)), append(lower, roomOn(&d.Lower, dentition.Lower, d.Rooms))
	}
	var raw bytes.Buffer
	v.Upper = packArch(f.Notation, &raw, dentition.Upper, &d.Upper, upper)
	v.Lower = packArch(f.Notation, &raw, dentition.Lower, &d.Lower, lower)
	var packed bytes.Buffer
	w, err := flate.NewWriter(&packed, flate.DefaultCompression)
	if err != nil {
		return nil, err
	}
	if _, err := w.Write(raw.Bytes()); err != nil {
		return nil, err
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	// json.Marshal escapes <, > and &, so the facts cannot end their script.
	facts, err := json.Marshal(v)
	if err != nil {
		return nil, err
	}
	return &Bundle{Script: template.JS(script), Facts: template.JS(facts),
		Data: template.HTML(base64.StdEncoding.EncodeToString(packed.Bytes())), Room: v.Room}, nil
}

// spokenKeys are what the scripts of the view say.
var spokenKeys = [...]string{
	"label.closed", "view.look.both", "view.look.right", "view.look.front", "view.look.left", "view.look.upper",
	"view.look.lower", "view.look.right_lingual",
	"view.look.left_lingual", "view.at", "view.at.closed", "view.guiding", "view.contacts", "view.contacts.none",
	"view.room.to", "view.ruler.mm", "view.gap.end",
	"view.play", "view.pause", "foil.within", "view.gap.far", "view.gap.here", "view.room.none", "view.room.here",
	"view.clearance", "view.meets",
	"view.meets.incline", "view.no_tooth", "view.surface", "dash",
}

// spoken is what the scripts say in a language; they fill the placeholders.
func spoken(l *language.Language) map[string]string {
	out := map[string]string{}
	for _, key := range spokenKeys {
		with := language.With{}
		for _, p := range l.Placeholders(key) {
			with[p] = "{" + p + "}"
		}
		out[key] = l.Write(language.Say(key, with), dentition.ISO)
	}
	return out
}

// farUm stands for a clearance beyond the map, in µm.
const farUm = 32767

// roomOn is the room over the teeth of an arch that will be restored, in mm,
// +Inf on the rest of it.
func roomOn(s *display.Surface, jaw dentition.Jaw, rooms []*display.RoomMap) []float64 {
	least := map[mesh.VertexID]float64{}
	for _, r := range rooms {
		if r.Tooth.Jaw() != jaw {
			continue
		}
		for i, v := range r.Source {
			least[v] = r.LeastMM[i]
		}
	}
	out := make([]float64, len(s.Source))
	for i, v := range s.Source {
		mm, ok := least[v]
		if !ok {
			mm = math.Inf(1)
		}
		out[i] = mm
	}
	return out
}

// packArch appends an arch.
func packArch(n dentition.Notation, w *bytes.Buffer, jaw dentition.Jaw, s *display.Surface, maps [][]float64) viewArch {
	b := s.Mesh.Bounds()
	size := max(b.Max.X-b.Min.X, b.Max.Y-b.Min.Y, b.Max.Z-b.Min.Z, 1e-3)
	a := viewArch{Vertices: s.Mesh.NumVertices(), Triangles: s.Mesh.NumTriangles(),
		Min: [3]float64{b.Min.X, b.Min.Y, b.Min.Z}, Step: size / 65535, Teeth: []viewCode{}}
	short := func(v, last uint16) { w.Write(binary.LittleEndian.AppendUint16(nil, v-last)) }
	for axis := range 3 {
		var last uint16
		for _, v := range s.Mesh.Vertices() {
			d := r3.Sub(v, b.Min)
			q := uint16([3]float64{d.X, d.Y, d.Z}[axis]/a.Step + 0.5)
			short(q, last)
			last = q
		}
	}
	for _, n := range s.Normals {
		for _, c := range [3]float64{n.X, n.Y, n.Z} {
			w.WriteByte(byte(int8(math.Round(127 * c))))
		}
	}
	for i := range a.Vertices {
		var t dentition.ToothID
		if s.Teeth != nil {
			t = s.Teeth[i]
		}
		w.WriteByte(byte(t))
	}
	var last uint32
	for _, t := range s.Mesh.Triangles() {
		for _, c := range t {
			w.Write(binary.LittleEndian.AppendUint32(nil, uint32(c)-last))
			last = uint32(c)
		}
	}
	for _, m := range maps {
		var last uint16
		for _, mm := range m {
			um := int16(farUm)
			if !math.IsInf(mm, 1) {
				um = int16(math.Round(1000 * mm))
			}
			short(uint16(um), last)
			last = uint16(um)
		}
	}
	drawn := picture.NewArch(jaw, s, nil, kinematics.Pose{})
	for _, t := range picture.ToothSpots(drawn) {
		c := r3.Add(t.Centre, r3.Scale(t.Reach+1.5, t.Outward))
		a.Teeth = append(a.Teeth, viewCode{Code: n.Format(t.Tooth), Number: int(t.Tooth), Name: t.Tooth.Name(),
			Centre: [3]float64{c.X, c.Y, c.Z}, Outward: [3]float64{t.Outward.X, t.Outward.Y, t.Outward.Z}})
	}
	return a
}
