package serve

import (
	"bytes"
	"embed"
	"encoding/binary"
	"encoding/json"
	"math"
	"net/http"
	"slices"

	"github.com/cusptrace/cusptrace/internal/interlock"
	"github.com/cusptrace/cusptrace/internal/simplify"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/segment"
	"github.com/golang/geo/s1"
)

// built holds the 3D view of the page once it is built; a build without it works.
//
//go:embed dist
var built embed.FS

const builtScript = "dist/casts.js.gz"

// hasView says whether the 3D view was built.
func hasView() bool {
	_, err := built.Open(builtScript)
	return err == nil
}

// viewScript sends the 3D view, packed as it is.
func viewScript(w http.ResponseWriter, r *http.Request) {
	text, err := built.ReadFile(builtScript)
	if err != nil {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", "text/javascript; charset=utf-8")
	w.Header().Set("Content-Encoding", "gzip")
	_, _ = w.Write(text)
}

// shownVertices is how many vertices of an arch are shown.
const shownVertices = 32_000

// surface is an arch as it is shown: thinned, in the frame of its scan, mm, with the tooth of every
// vertex. Nothing is measured on it.
type surface struct {
	vertices, triangles int
	data                []byte          // positions, corners, normals, teeth
	keep                []mesh.VertexID // those of the scan that are shown
	fromScan            kinematics.Pose // into a frame with x to the left, y back and z up
	framed              bool            // that is known
}

// newSurface thins an arch; labels may be nil.
func newSurface(m *mesh.Mesh, l *dentition.Labels) (*surface, error) {
	var kind []uint8
	if l != nil {
		kind = make([]uint8, m.NumVertices())
		for i := range kind {
			kind[i] = uint8(l.Vertex(mesh.VertexID(i)))
		}
	}
	keep, corners := simplify.Cluster(m, kind, shownVertices)
	normals := simplify.Normals(m)
	s := &surface{vertices: len(keep), triangles: len(corners), keep: keep}
	s.data = make([]byte, 0, len(keep)*16+len(corners)*12)
	for _, v := range keep {
		p := m.Vertex(v)
		for _, c := range [3]float64{p.X, p.Y, p.Z} {
			s.data = binary.LittleEndian.AppendUint32(s.data, math.Float32bits(float32(c)))
		}
	}
	for _, c := range corners {
		for _, v := range c {
			s.data = binary.LittleEndian.AppendUint32(s.data, uint32(v))
		}
	}
	for _, v := range keep {
		n := normals[v]
		s.data = append(s.data, byte(int8(math.Round(127*n.X))), byte(int8(math.Round(127*n.Y))), byte(int8(math.Round(127*n.Z))))
	}
	for _, v := range keep {
		t := uint8(0)
		if kind != nil {
			t = kind[v]
		}
		s.data = append(s.data, t)
	}
	if l == nil {
		return s, nil
	}
	if a, err := interlock.FromTeeth(m, l); err == nil {
		s.fromScan, s.framed = a.FromScan, true
	}
	return s, nil
}

// sight is an arch whose teeth are being found, as far as they are seen.
type sight struct {
	shown *surface
	teeth []tooth
}

// someTooth is the number of crowns that are seen and not numbered yet.
const someTooth = 255

// sight shows of an arch, whose teeth are not known yet, what is seen of them.
func (s *surface) sight(of *segment.Sight) *sight {
	x := *s
	x.data = slices.Clone(s.data)
	colours := x.data[len(x.data)-len(s.keep):]
	there := map[dentition.ToothID]bool{}
	for i, v := range s.keep {
		switch {
		case of.Teeth != nil:
			t := of.Teeth[v]
			colours[i] = uint8(t)
			there[t] = true
		case of.Crowns[v]:
			colours[i] = someTooth
		}
	}
	x.fromScan = kinematics.ToAxes(of.Left, of.Up)
	out := &sight{shown: &x}
	for t := range dentition.All {
		if there[t] {
			out.teeth = append(out.teeth, tooth{id: t})
		}
	}
	return out
}

// Scans that stand like this to each other may be in intercuspation: their own frames agree; our choice.
const (
	togetherTurn = 25 * s1.Degree
	togetherMM   = 15.0
)

// together reports whether two arches lie in one frame, about in intercuspation.
func together(upper, lower *surface) bool {
	if upper == nil || lower == nil || !upper.framed || !lower.framed {
		return true // nothing says otherwise
	}
	between := lower.fromScan.Inverse().Then(upper.fromScan)
	o := between.Offset()
	return between.Angle() < togetherTurn && math.Sqrt(o.X*o.X+o.Y*o.Y+o.Z*o.Z) < togetherMM
}

// castsHead says what the data that follow it are.
type castsHead struct {
	Upper    castHead          `json:"upper"`
	Lower    castHead          `json:"lower"`
	Together bool              `json:"together"`
	Finding  bool              `json:"finding"` // the teeth are only just being found
	Words    map[string]string `json:"words"`
}

type castHead struct {
	Vertices  int          `json:"vertices"`
	Triangles int          `json:"triangles"`
	FromScan  [16]float64  `json:"from_scan"`
	Given     bool         `json:"given"` // its teeth cannot be corrected
	Teeth     []castTooth  `json:"teeth"`
	All       []castChoice `json:"all"` // the teeth of the jaw
}

type castTooth struct {
	Number int    `json:"number"`
	Code   string `json:"code"`
	Name   string `json:"name"`
	Sure   string `json:"sure"`
	Unsure bool   `json:"unsure"`
}

type castChoice struct {
	Code string `json:"code"`
	Name string `json:"name"`
}

// castsWords are what the script of the 3D view says.
var castsWords = []string{"view.look.both", "view.look.right", "view.look.front", "view.look.left", "view.look.upper", "view.look.lower",
	"serve.casts.tooth", "serve.casts.none", "serve.casts.join", "serve.casts.draw.of"}

// casts sends both arches as they are shown.
func (s *Server) casts(w http.ResponseWriter, r *http.Request) {
	s.session.mu.Lock()
	head, data := s.castsHead()
	s.session.mu.Unlock()
	if head == nil {
		http.NotFound(w, r)
		return
	}
	text, err := json.Marshal(head)
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	for len(text)%4 != 0 {
		text = append(text, ' ')
	}
	var b bytes.Buffer
	b.Write(binary.LittleEndian.AppendUint32(nil, uint32(len(text))))
	b.Write(text)
	for _, d := range data {
		b.Write(d)
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	_, _ = w.Write(b.Bytes())
}

// inView is what is shown of each arch: what is seen of its teeth while they are being found, what was found
// otherwise, nil where nothing is known. The caller holds the session.
func (x *session) inView() (out [2]*sight, finding bool) {
	for i := range out {
		switch {
		case x.job != nil && x.job.seen[i] != nil:
			out[i], finding = x.job.seen[i], true
		case len(x.scans) == 2 && x.scans[i].shown != nil:
			out[i] = &sight{x.scans[i].shown, x.scans[i].teeth}
		}
	}
	return out, finding
}

// castsHead gathers what is shown; nil where nothing is. The caller holds the session.
func (s *Server) castsHead() (*castsHead, [2][]byte) {
	x := s.session
	seen, finding := x.inView()
	if seen[0] == nil || seen[1] == nil {
		if !finding {
			return nil, [2][]byte{}
		}
		for i := range seen {
			if seen[i] == nil {
				seen[i] = &sight{shown: &surface{}} // of it nothing is seen yet
			}
		}
	}
	h := &castsHead{Words: map[string]string{}, Together: !finding && together(seen[0].shown, seen[1].shown), Finding: finding}
	for _, key := range castsWords {
		with := language.With{}
		for _, p := range x.o.Language.Placeholders(key) {
			with[p] = "{" + p + "}"
		}
		h.Words[key] = s.say(language.Say(key, with))
	}
	var data [2][]byte
	for i, to := range []*castHead{&h.Upper, &h.Lower} {
		a := seen[i]
		frame := a.shown.fromScan
		switch {
		case x.job != nil && x.job.mount != nil:
			frame = *x.job.mount
		case h.Together && seen[1].shown.framed:
			frame = seen[1].shown.fromScan
		}
		*to = castHead{Vertices: a.shown.vertices, Triangles: a.shown.triangles, FromScan: frame.Matrix(), Given: x.scans[i].given,
			Teeth: []castTooth{}}
		for _, t := range a.teeth {
			to.Teeth = append(to.Teeth, castTooth{int(t.id), t.id.String(), t.id.Name(), t.percent(), t.unsure})
		}
		if finding && len(a.teeth) == 0 {
			to.Teeth = append(to.Teeth, castTooth{Number: someTooth})
		}
		for t := range dentition.All {
			if t.Jaw() == jaws[i] && !t.Deciduous() {
				to.All = append(to.All, castChoice{t.String(), t.Name()})
			}
		}
		data[i] = a.shown.data
	}
	return h, data
}
