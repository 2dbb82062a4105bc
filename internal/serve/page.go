package serve

import (
	"bytes"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
)

// view is what the page shows. What comes from a case or a file is a plain string, which the
// template escapes.
type view struct {
	server           *Server
	Lang             string
	Rev              int
	Stage            stage
	Stale, View      bool   // the 3D view is there
	Undo             string // what can be taken back
	Problem          string
	Working          string
	Done, Total      int
	Scans            []viewScan
	Units            []string
	Unit             string // that fits
	Both             string // the jaw that both scans look like
	Name, Date, Foil string
	Brushes          []viewBrush
	Chart            [2][]viewPlace
	Marks            []viewMarks
	Labelled         bool // labels came with the case
	Mounting         viewMounting
	Offers           []viewOffer
	Tried            bool
	Again            string // the command that tries the same
	Wax              viewWax
	Table            bool
	Pin, PinRadius   string
}

// viewWax is the fields for a step of wax.
type viewWax struct {
	Teeth, Others, Movements, Forms []viewBrush
	Deg                             string
	Open                            bool // something was entered
}

// viewOffer is a step that may be tried.
type viewOffer struct {
	Number   int
	Says     string
	Findings []string
	Checked  bool
}

// viewMounting is the mounting and the settings.
type viewMounting struct {
	Ways           []viewBrush
	Way, How       string
	Points         []viewPoint // of the mounting
	Found          bool        // on the teeth
	Mount, Set     []viewNumber
	Planes         []viewBrush
	Apart, Movable bool // the arches are not together; they can be put together
	Joined         []string
	Pairs          []viewPair
}

// viewPoint is a field that holds a point; Jaw where it lies on a cast.
type viewPoint struct{ Name, Label, Help, Value, Jaw, Next string }

type viewNumber struct{ Name, Label, Help, Value, Unit string }

type viewPair struct{ Upper, Lower viewPoint }

type viewScan struct {
	Name, Jaw, JawCode, Health, Details, Found string
	Codes                                      []string // that a tooth may be given
	Teeth                                      []viewTooth
	Doubts                                     []viewDoubt
	Given                                      bool
}

// viewDoubt is what a person should look at, with the correction that settles it and the place on the scan.
type viewDoubt struct{ Text, Do, At string }

type viewTooth struct {
	Code, Name, Sure string
	Unsure           bool
}

type viewBrush struct {
	Value, Text string
	Checked     bool
}

// viewPlace is a tooth of the chart.
type viewPlace struct {
	Code, Sign, Label   string
	There, Restore, Now bool
}

type viewMarks struct{ Name, Label, Value string }

var pageTemplate = template.Must(template.New("page.html").Funcs(template.FuncMap{"say": func(string, ...any) string { return "" }}).
	ParseFS(pageFiles, "page.html"))

// page shows where the person is.
func (s *Server) page(w http.ResponseWriter, r *http.Request) {
	t, err := pageTemplate.Clone()
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	s.session.mu.Lock()
	v := s.view()
	v.Stale = r.URL.RawQuery == "stale"
	var b bytes.Buffer
	err = t.Funcs(template.FuncMap{"say": v.say}).Execute(&b, v)
	s.session.mu.Unlock()
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = w.Write(b.Bytes())
}

// say writes the sentence of a key for the template, with names and values in turn.
func (v *view) say(key string, with ...any) (string, error) {
	w := language.With{}
	for i := 0; i+1 < len(with); i += 2 {
		name, ok := with[i].(string)
		if !ok {
			return "", fmt.Errorf("%s: %v should be a name", key, with[i])
		}
		w[name] = with[i+1]
	}
	return v.server.say(language.Say(key, w)), nil
}

// view gathers what the page shows. The caller holds the session.
func (s *Server) view() *view {
	x := s.session
	v := &view{server: s, Lang: x.o.Language.Code(), Rev: x.rev, Stage: x.stage(), Problem: x.problem, Name: x.c.Name, Date: string(x.c.Date)}
	if n := len(x.undo); n > 0 {
		c := x.scans[x.undo[n-1]].corrections
		v.Undo = c[len(c)-1]
	}
	v.View = hasView()
	if x.job != nil {
		v.Working, v.Done, v.Total = s.say(x.job.text), x.job.done, x.job.total
	}
	for i, a := range x.scans {
		v.Scans = append(v.Scans, s.viewScan(i, a))
		v.Labelled = v.Labelled || a.given
		if a.fits != mesh.UnitUnknown && a.fits != mesh.Millimetre {
			v.Unit = a.fits.String()
		}
	}
	if x.both != nil {
		v.Both = s.say(language.Say("serve.jaw." + x.both.String()))
	}
	for _, u := range []mesh.Unit{mesh.Millimetre, mesh.Centimetre, mesh.Metre, mesh.Inch, mesh.Micrometre} {
		v.Units = append(v.Units, u.String())
	}
	v.Tried = x.tried
	for i, o := range x.offers {
		y := viewOffer{Number: i, Says: s.say(o.says), Checked: slices.Contains(x.picked, strconv.Itoa(i))}
		for _, f := range o.findings {
			y.Findings = append(y.Findings, s.say(f))
		}
		v.Offers = append(v.Offers, y)
	}
	if v.Stage == reported {
		s.viewSteps(v)
	}
	if v.Stage == theCase {
		s.viewMouth(v)
		v.Mounting = s.viewMounting()
	}
	return v
}

// viewSteps fills in the fields of steps that a person puts together.
func (s *Server) viewSteps(v *view) {
	x := s.session
	f := x.waxing
	list := func(values []string, text func(string) string, now string) (out []viewBrush) {
		for _, w := range values {
			out = append(out, viewBrush{w, text(w), w == now || now == "" && len(out) == 0})
		}
		return out
	}
	var teeth []string
	for _, a := range x.scans {
		for _, t := range a.teeth {
			teeth = append(teeth, t.id.String())
		}
	}
	name := func(code string) string {
		t, err := dentition.ParseTooth(code)
		if err != nil {
			return code
		}
		return code + " " + t.Name()
	}
	v.Wax.Teeth, v.Wax.Others = list(teeth, name, f.tooth), list(teeth, name, f.other)
	v.Wax.Movements = list([]string{kinematics.Right.String(), kinematics.Left.String(), kinematics.Protrusive.String()},
		func(m string) string { return s.say(language.Say("movement." + m)) }, f.movement)
	v.Wax.Forms = list([]string{waxInclined, waxShares, waxAs, waxMirrors},
		func(w string) string { return s.say(language.Say("serve.wax." + w)) }, f.form)
	v.Wax.Open = f != waxing{}
	if v.Wax.Deg = f.deg; f.deg == "" {
		v.Wax.Deg = fmt.Sprint(guidanceDeg)
	}
	p := x.offeredPin()
	v.Table, v.PinRadius = p.wanted, fmt.Sprint(p.radius)
	if p.radius != 0 {
		v.Pin = writePoint(&p.tip)
	}
	if x.tried {
		v.Again = "cusptrace trial " + trialCase + " -o again" + x.pin.flags(x.unit)
	}
}

func (s *Server) viewScan(i int, a *scan) viewScan {
	out := viewScan{Name: a.name, Given: a.given}
	if s.session.told {
		out.JawCode = jaws[i].String()
		out.Jaw = s.say(language.Say("serve.jaw." + jaws[i].String()))
		for t := range dentition.All {
			if t.Jaw() == jaws[i] && !t.Deciduous() {
				out.Codes = append(out.Codes, t.String())
			}
		}
	}
	if h := a.health; h != nil {
		r := h.report
		faults := r.NonManifoldEdges + r.InconsistentEdges + r.FlippedTriangles + r.DuplicateTriangles + r.DegenerateTriangles
		with := language.With{"triangles": r.Triangles, "largest": max(r.SizeMM[0], r.SizeMM[1], r.SizeMM[2])}
		if faults > 0 {
			with["faults"] = faults
		}
		out.Health, out.Details = s.say(language.Say("serve.health", with)), h.text
	}
	unsure := 0
	for _, t := range a.teeth {
		y := viewTooth{Code: t.id.String(), Name: t.id.Name(), Sure: t.percent(), Unsure: t.unsure}
		if t.unsure {
			unsure++
		}
		out.Teeth = append(out.Teeth, y)
	}
	for i := range a.doubts {
		d := &a.doubts[i]
		out.Doubts = append(out.Doubts, viewDoubt{s.say(occlusion.SayDoubt(d)), d.Correct, fmt.Sprintf("%g,%g,%g", d.At[0], d.At[1], d.At[2])})
	}
	with := language.With{"teeth": len(a.teeth)}
	if unsure > 0 {
		with["unsure"] = unsure
	}
	out.Found = s.say(language.Say("serve.found", with))
	return out
}

// viewMouth fills in the chart and what was seen in the mouth.
func (s *Server) viewMouth(v *view) {
	x := s.session
	record := casefile.Record{FoilUm: defaultFoil}
	if x.c.Record != nil {
		record = *x.c.Record
	}
	v.Foil = fmt.Sprintf("%g", record.FoilUm)
	for _, b := range []string{string(casefile.Holds), string(casefile.LightDrag), string(casefile.Passes), brushRestore, brushClear} {
		v.Brushes = append(v.Brushes, viewBrush{b, s.brushText(b), b == x.brush})
	}
	for _, m := range movements(&record) {
		var list []string
		for _, k := range *m.marks {
			list = append(list, k.String())
		}
		v.Marks = append(v.Marks, viewMarks{m.name, s.say(language.Say("serve.marks." + m.name)), strings.Join(list, ", ")})
	}
	signs := map[casefile.Hold]string{casefile.Holds: "●", casefile.LightDrag: "◐", casefile.Passes: "○"}
	for row, quadrants := range [2][2]int{{1, 2}, {4, 3}} {
		for side, q := range quadrants {
			for p := 8; p >= 1; p-- {
				n := p
				if side == 1 {
					n = 9 - p
				}
				t := dentition.ToothID(10*q + n)
				there := len(x.scans[row].teeth) == 0 || slices.ContainsFunc(x.scans[row].teeth, func(y tooth) bool { return y.id == t })
				hold := record.Foil[t]
				label := []string{t.Name()}
				if hold != "" {
					label = append(label, s.brushText(string(hold)))
				}
				restore := slices.Contains(x.c.Restore, t)
				if restore {
					label = append(label, s.brushText(brushRestore))
				}
				v.Chart[row] = append(v.Chart[row], viewPlace{Code: t.String(), Sign: signs[hold], Label: t.String() + ", " + strings.Join(label, ", "),
					There: there, Restore: restore, Now: t == x.last})
			}
		}
	}
}

func (s *Server) brushText(b string) string {
	switch b {
	case brushRestore, brushClear:
		return s.say(language.Say("serve.brush." + b))
	}
	return s.say(language.Say("class." + b))
}

// viewMounting gathers how the casts are mounted and the settings.
func (s *Server) viewMounting() viewMounting {
	x := s.session
	say := func(key string) string { return s.say(language.Say(key)) }
	m := viewMounting{Way: wayOf(x.c), How: say("serve.mount.how." + wayOf(x.c)), Movable: x.loose == nil, Joined: x.fit,
		Apart: len(x.scans) == 2 && !together(x.scans[0].shown, x.scans[1].shown)}
	for _, w := range []string{byAverage, byRecorded, byMatrix} {
		if w != byMatrix || m.Way == byMatrix {
			m.Ways = append(m.Ways, viewBrush{w, say("serve.mount." + w), w == m.Way})
		}
	}
	if a := x.c.Mount.Average; a != nil {
		at := [3]*casefile.Point{a.IncisalPoint, a.RightMolar, a.LeftMolar}
		if f := x.foundPoints(); f != nil && at[0] == nil {
			m.Found = true
			at = [3]*casefile.Point{&f[0], &f[1], &f[2]}
		}
		for i, name := range mountingFields {
			p := viewPoint{Name: name, Label: say("serve.at." + pointOf(name)), Help: say("serve.at.how." + pointOf(name)),
				Value: writePoint(at[i]), Jaw: jaws[1].String()}
			if i < 2 {
				p.Next = mountingFields[i+1]
			}
			m.Points = append(m.Points, p)
		}
	}
	if r := x.c.Mount.Recorded; r != nil {
		for _, p := range []struct {
			name string
			at   casefile.Point
		}{{"at-right_condyle", r.RightCondyle}, {"at-left_condyle", r.LeftCondyle}, {"at-reference", r.ReferencePoint}} {
			v := viewPoint{Name: p.name, Label: say("serve.at." + pointOf(p.name)), Help: say("serve.at.how." + pointOf(p.name))}
			if *r != (casefile.Recorded{}) {
				v.Value = fmt.Sprintf("%g, %g, %g", p.at[0], p.at[1], p.at[2])
			}
			m.Points = append(m.Points, v)
		}
	}
	for i := range numbers {
		n := &numbers[i]
		if !n.fits(x.c) {
			continue
		}
		unit := "°"
		if n.name == "condyle_to_incisal" || n.name == "intercondylar" || n.name == "shift_right" || n.name == "shift_left" {
			unit = "mm"
		}
		v := viewNumber{n.name, say("serve.set." + n.name), say("serve.set.how." + n.name), fmt.Sprintf("%g", *n.of(x.c)), unit}
		if i < 3 {
			m.Mount = append(m.Mount, v)
		} else {
			m.Set = append(m.Set, v)
		}
	}
	for _, p := range []casefile.Plane{casefile.OcclusalPlane, casefile.CamperPlane, casefile.FrankfortPlane, casefile.AxisOrbitalPlane} {
		m.Planes = append(m.Planes, viewBrush{string(p), say("serve.plane." + string(p)), p == x.c.Settings.ReferencePlane})
	}
	if m.Movable {
		m.Pairs = s.viewPairs()
	}
	return m
}

// viewPairs are the fields of the pairs of points at which loose arches meet.
func (s *Server) viewPairs() (out []viewPair) {
	x := s.session
	for i := range min(len(x.pairs)+1, mostPairs) {
		point := func(k int, next string) viewPoint {
			name := fmt.Sprintf("pair-%v-%d", jaws[k], i+1)
			p := viewPoint{Name: name, Jaw: jaws[k].String(), Next: next,
				Label: s.say(language.Say("serve.pair."+jaws[k].String(), language.With{"number": i + 1})),
				Help:  s.say(language.Say("serve.pair.how." + jaws[k].String()))}
			if i < len(x.pairs) {
				p.Value = writePoint(&x.pairs[i][k])
			}
			return p
		}
		out = append(out, viewPair{point(0, fmt.Sprintf("pair-lower-%d", i+1)), point(1, "")})
	}
	return out
}

// pointOf is the point of a field that holds one.
func pointOf(field string) string { return strings.TrimPrefix(field, "at-") }
