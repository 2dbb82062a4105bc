package serve

import (
	"bytes"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
)

// view is what the page shows. What comes from a case or a file is a plain string, which the
// template escapes.
type view struct {
	server                                            *Server
	Lang                                              string
	Rev                                               int
	Stage                                             stage
	Stale, View                                       bool   // the 3D view is there
	Undo                                              string // what can be taken back
	Problem                                           string
	Working                                           string
	Done, Total                                       int
	Scans                                             []viewScan
	Units                                             []string
	Unit                                              string // that fits
	Both                                              string // the jaw that both scans look like
	Name, Date, Foil                                  string
	Brushes                                           []viewBrush
	Chart                                             [2][]viewPlace
	Marks                                             []viewMarks
	Labelled                                          bool // labels came with the case
	CondyleToIncisal, Balkwill, Incline, BennettAngle float64
}

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
	if v.Stage == theCase {
		s.viewMouth(v)
	}
	if a := x.c.Mount.Average; a != nil {
		v.CondyleToIncisal, v.Balkwill = a.CondyleToIncisalMM, a.BalkwillDeg
	}
	v.Incline, v.BennettAngle = x.c.Settings.Right.CondylarInclinationDeg, x.c.Settings.Right.SideShiftAngleDeg
	return v
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
