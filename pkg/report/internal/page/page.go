// Package page makes the page that stands alone.
package page

import (
	"bytes"
	"embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io/fs"
	"reflect"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/paint"
	"github.com/cusptrace/cusptrace/pkg/report/internal/picture"
	"github.com/cusptrace/cusptrace/pkg/report/internal/view"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

//go:embed *.html page.css
var pageFiles embed.FS

// reduction stands beside heights.
const reduction = "A height says how far a contact stands in the way of the desired guidance, not how much to take away. Tooth reduction cannot be undone: try it on the casts first and confirm every finding in the mouth."

// Page is what the templates show. Everything that comes from a case is a plain
// string, which the templates escape.
type Page struct {
	Title     string
	Style     template.CSS
	Caution   string
	Codes     string // how teeth are named
	Reduction string // said where findings could be taken for work to do
	Mounting  mountingCard
	Findings  []judgement
	Glance    []glanceRow
	Notes     []string
	View      *view.Bundle
	Stills    []pageStill
	Scale     template.CSS // the colour map as a gradient
	Foils     []string
	Jaws      []jawStops
	FoilText  string // what foil does, tooth by tooth
	Stops     facts
	Load      facts
	Closing   facts
	Movements []pageMovement
	Mouth     facts
	More      []pagePart
	Rooms     []string // files
	Settings  []facts
	Doubt     string
	Display   string
	Origin    *Origin
}

// pagePart is a section of its own.
type pagePart struct {
	ID, Short string
	facts
}

// mountingCard answers whether the mounting can be trusted.
type mountingCard struct {
	Verdict  string
	Reasons  []string
	Relation string
	AtRest   string
	How      string
}

type pageStill struct {
	Title, Alt, File string
	Source           template.URL
}

// known are the parts of the findings that the page shows in its own way.
var (
	knownTop      = []string{"format", "version", "name", "mount", "settings", "thresholds", "warnings", "scans", "notation", "settling", "centric", "yielding", "excursions", "arches", "cusp_angles", "facets", "restore", "record"}
	knownCentric  = []string{"opening_deg", "pose", "contacts", "teeth", "stops", "support", "stops_text", "foil_text", "mounting"}
	knownMovement = []string{"movement", "frames", "findings", "guidance", "disclusion", "smoothness", "cusp_paths", "ended_mm", "ended"}
)

// New gathers what the page shows; built holds the 3D view.
func New(built fs.FS, f *findings.Findings, d *display.Display, o *Origin, pictures []picture.Picture) (*Page, error) {
	whole, err := toNode(f)
	if err != nil {
		return nil, err
	}
	style, err := pageFiles.ReadFile("page.css")
	if err != nil {
		return nil, err
	}
	p := &Page{Title: "Examination of dental casts", Style: template.CSS(style), Caution: words.Caution, Codes: words.CodeWords(f.Notation), Notes: f.Warnings, Origin: o, Scale: gradient()}
	if f.Name != "" {
		p.Title = f.Name
	}
	for _, um := range words.FoilsOf(f) {
		p.Foils = append(p.Foils, words.Micrometres(um))
	}
	n := f.Notation
	said := map[string]string{}
	addSaid(said, reflect.ValueOf(f), n)
	whole.write(n, said)
	p.Mounting = mountingCard{words.VerdictWords(f.Centric.Mounting.Verdict), nil, words.Relation(f), words.AtRest(f), words.Mounting(f)}
	for _, r := range f.Centric.Mounting.Reasons {
		p.Mounting.Reasons = append(p.Mounting.Reasons, r.In(n))
	}
	if t := f.Centric.Mounting.Tilt; t != nil {
		p.Mounting.Reasons = append(p.Mounting.Reasons, "It looks as if "+t.Words+".")
	}
	p.Findings = judgements(f)
	if slices.ContainsFunc(p.Findings, func(j judgement) bool { return j.High }) {
		p.Reduction = reduction
	}
	p.Jaws, p.Stops, p.Load, p.Mouth = centricStops(f, p.Foils), stopsPart(n, &f.Centric), underLoad(n, f.Yielding), mouth(n, f.Record)
	p.FoilText = f.Centric.FoilText.In(n)
	if c, ok := whole.get("centric"); ok {
		p.Closing = tell("", c.without(knownCentric...))
	}
	var nodes []node
	if x, ok := whole.get("excursions"); ok {
		nodes = x.items
	}
	for i := range f.Excursions {
		m, err := newMovement(n, &f.Excursions[i], p.Findings, nodes[i].without(knownMovement...))
		if err != nil {
			return nil, err
		}
		p.Movements = append(p.Movements, m)
		p.Glance = append(p.Glance, glance(n, &f.Excursions[i], &m))
	}
	p.More = moreParts(f, &whole)
	for _, r := range d.Rooms {
		p.Rooms = append(p.Rooms, words.RoomFile(r.Tooth))
	}
	p.Settings = settingsParts(f)
	p.Doubt = fmt.Sprintf("A gap between the two scans is known to ± %s (standard deviation), settings are averages unless they were recorded, and casts are rigid where teeth yield: a finding that hangs on less than that hangs on nothing.", quantity(f.Thresholds.ScanDoubtUm, "µm"))
	for _, s := range pictures {
		p.Stills = append(p.Stills, pageStill{Title: s.Title, File: s.Name, Alt: s.Alt,
			Source: template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(s.PNG))})
	}
	p.Display = thinned(d)
	if p.View, err = view.New(built, f, d); err != nil {
		return nil, err
	}
	if p.View == nil {
		p.withoutPlaces()
	}
	return p, nil
}

// moreParts are the sections behind the movements: those that have a form of their own,
// then whatever else the findings hold, as it stands there.
func moreParts(f *findings.Findings, whole *node) []pagePart {
	var out []pagePart
	for _, part := range [...]pagePart{
		{"restore", "To restore", restorePart(f)},
		{"facets", "Facets", facetsPart(f)},
		{"cusps", "Cusps", cuspAngles(f)},
		{"arches", "Arches", archesPart(f.Notation, f.Arches)},
	} {
		if !part.Empty() {
			out = append(out, part)
		}
	}
	for _, m := range whole.without(knownTop...) {
		label, _ := label(m.key)
		part := tell(label, []member{m})
		if m.value.kind == objectNode {
			part = tell(label, m.value.members)
		}
		if !part.Empty() {
			out = append(out, pagePart{m.key, label, part})
		}
	}
	return out
}

// withoutPlaces takes the links into the 3D view away, where there is none.
func (p *Page) withoutPlaces() {
	unlink := func(list []judgement) {
		for i := range list {
			list[i].Go = nil
		}
	}
	unlink(p.Findings)
	for i := range p.Jaws {
		for k := range p.Jaws[i].Teeth {
			p.Jaws[i].Teeth[k].Go = nil
		}
	}
	for i := range p.Movements {
		m := &p.Movements[i]
		unlink(m.Findings)
		for k := range m.Rows {
			m.Rows[k].Go = nil
		}
		m.More.withoutPlaces()
	}
	p.Stops.withoutPlaces()
	for i := range p.More {
		p.More[i].withoutPlaces()
	}
	p.Mouth.withoutPlaces()
}

// gradient is the colour map for CSS.
func gradient() template.CSS {
	return template.CSS("linear-gradient(to right, " + strings.Join(paint.MapStops[:], ", ") + ")")
}

// thinned says what was done to the surfaces for display.
func thinned(d *display.Display) string {
	up, lo := &d.Upper, &d.Lower
	if up.Mesh.NumTriangles() == up.Scanned && lo.Mesh.NumTriangles() == lo.Scanned {
		return "Pictures show the scans with their full number of triangles."
	}
	return fmt.Sprintf("Pictures show thinned surfaces: %d of %d triangles of the upper arch, %d of %d of the lower one. Nothing was measured on them: all numbers come from the full scans.",
		up.Mesh.NumTriangles(), up.Scanned, lo.Mesh.NumTriangles(), lo.Scanned)
}

var pageTemplate = template.Must(template.New("page.html").Funcs(template.FuncMap{
	"title": words.MovementTitle,
}).ParseFS(pageFiles, "*.html"))

// render writes the page.
func (p *Page) Render() ([]byte, error) {
	var buf bytes.Buffer
	err := pageTemplate.Execute(&buf, p)
	return buf.Bytes(), err
}
