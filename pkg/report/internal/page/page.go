// Package page makes the page that stands alone.
package page

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/paint"
	"github.com/cusptrace/cusptrace/pkg/report/internal/picture"
	"github.com/cusptrace/cusptrace/pkg/report/internal/plan"
	"github.com/cusptrace/cusptrace/pkg/report/internal/view"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

//go:embed *.html page.css
var pageFiles embed.FS

// Page is what the templates show. Everything that comes from a case is a plain
// string, which the templates escape.
type Page struct {
	reader    words.Reader
	Lang      string // of the text, a BCP 47 tag
	Title     string
	Name      string // of the case, empty where it has none
	Date      string // of the examination, empty where the case does not say it
	Style     template.CSS
	Reduction bool     // a finding could be taken for work to do
	Remount   bool     // the mounting is not acceptable
	Robust    bool     // findings were tried with other settings
	Sure      []string // how sure the findings are, and what that cannot know
	// SureClosed is how sure is what the closed casts show.
	SureClosed []string
	Mounting   mountingCard
	Findings   []judgement
	Normal     []judgement   // what is as usual
	Chart      template.HTML // the occlusal chart
	Key        []keyEntry
	Teeth      []toothCard
	Given      facts // what the casts showed as they were given
	Notes      []string
	View       *view.Bundle
	Stills     []pageStill
	Scale      template.CSS // the colour map as a gradient
	Foils      []string
	Jaws       []jawStops
	FoilText   string // what foil does, tooth by tooth
	Stops      facts
	Load       facts
	Closing    facts
	Movements  []pageMovement
	Mouth      facts
	More       []pagePart
	Rooms      []string // files
	Settings   []facts
	Doubt      string
	Display    string
	Origin     *Origin
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
	Closed   string
	How      string
}

type pageStill struct {
	Title, Alt, File string
	Source           template.URL
}

// known are the parts of the findings that the page shows in its own way.
var (
	knownTop = []string{"format", "version", "name", "date", "inputs", "mount", "settings", "thresholds", "warnings", "scans",
		"notation", "settling", "centric", "yielding", "excursions", "arches", "cusp_angles", "facets", "restore", "record"}
	knownCentric = []string{"opening_deg", "pose", "contacts", "teeth", "stops", "support", "stops_text", "foil_text", "mounting",
		"staircase", "findings"}
	knownMovement = []string{"movement", "frames", "findings", "guidance", "disclusion", "smoothness", "cusp_paths", "ended_mm", "ended"}
)

// New gathers what the page shows; built holds the 3D view.
func New(built fs.FS, l *language.Language, f *findings.Findings, d *display.Display, version string,
	pictures []picture.Picture) (*Page, error) {
	whole, err := toNode(f)
	if err != nil {
		return nil, err
	}
	style, err := pageFiles.ReadFile("page.css")
	if err != nil {
		return nil, err
	}
	r := words.Reader{Language: l, Notation: f.Notation}
	p := &Page{reader: r, Lang: l.Code(), Title: r.Say("page.title"), Name: f.Name, Date: string(f.Date), Style: template.CSS(style),
		Origin: newOrigin(version, f.Inputs), Scale: gradient()}
	if f.Name != "" {
		p.Title = f.Name
	}
	for _, s := range f.Warnings {
		p.Notes = append(p.Notes, r.Write(s))
	}
	for _, um := range words.FoilsOf(f) {
		p.Foils = append(p.Foils, words.Micrometres(um.Um()))
	}
	said := map[string]string{}
	for s := range f.Sentences() {
		said[s.String()] = r.Write(*s)
	}
	whole.write(f.Notation, said)
	p.judge(f)
	p.chart(f, d)
	p.close(f, &whole)
	if err := p.move(f, &whole); err != nil {
		return nil, err
	}
	p.More = moreParts(r, f, &whole)
	for _, x := range d.Rooms {
		p.Rooms = append(p.Rooms, words.RoomFile(x.Tooth))
	}
	p.Settings = settingsParts(r, f)
	for i := range p.Settings {
		p.Settings[i].fold()
	}
	p.Doubt = r.Say("page.doubt", language.With{"doubt": language.Um(f.Thresholds.ScanDoubtUm)})
	for i := range pictures {
		s := &pictures[i]
		shown := pageStill{Title: s.Title, File: s.Name, Alt: s.Alt, Source: inline(s.Small)}
		if s.Finding == 0 {
			p.Stills = append(p.Stills, shown)
			continue
		}
		for k := range p.Findings {
			if p.Findings[k].Number == s.Finding {
				p.Findings[k].Still = &shown
			}
		}
	}
	p.Display = thinned(r, d)
	if p.View, err = view.New(built, l, f, d); err != nil {
		return nil, err
	}
	if p.View == nil {
		p.withoutPlaces()
	}
	return p, nil
}

// judge fills in the answer: the mounting and the findings.
func (p *Page) judge(f *findings.Findings) {
	r := p.reader
	p.Mounting = mountingCard{r.Write(words.Verdict(f.Centric.Mounting.Verdict)), nil, r.Write(words.Relation(f)),
		r.Write(words.Closed(f)), r.Write(words.Mounting(f))}
	for _, s := range words.Reasons(&f.Centric.Mounting) {
		p.Mounting.Reasons = append(p.Mounting.Reasons, r.Write(s))
	}
	list := words.BySeverity(f)
	p.Findings, p.Normal = judgements(r, f, list), judgements(r, f, words.Normal(f))
	p.Reduction = slices.ContainsFunc(p.Findings, func(j judgement) bool { return j.High })
	if f.Doubt != nil {
		p.Sure = []string{r.Write(words.SureNote(f)), r.Write(f.Doubt.Text)}
		for _, s := range words.SureClosed(f) {
			p.SureClosed = append(p.SureClosed, r.Write(s))
		}
	}
	p.Robust, p.Remount = words.Tried(list), f.Centric.Mounting.Verdict == findings.Remount
}

// chart draws the occlusal chart and fills in the cards of the teeth.
func (p *Page) chart(f *findings.Findings, d *display.Display) {
	var signs []plan.Sign
	for _, j := range p.Findings {
		signs = append(signs, plan.Sign{Number: j.Number, Weight: j.Weight, Finding: j.about, Movement: j.Movement})
	}
	p.Chart = plan.Draw(p.reader, f, d, signs)
	if p.Chart != "" {
		p.Teeth, p.Key = toothCards(p.reader, f, p.Findings), key(p.reader, f, p.Findings)
	}
}

// close fills in the closing and what belongs to it.
func (p *Page) close(f *findings.Findings, whole *node) {
	r := p.reader
	p.Jaws, p.Stops, p.Load, p.Mouth = centricStops(r, f), stopsPart(r, &f.Centric), underLoad(r, f.Yielding), mouth(r, f.Record)
	p.Given = givenPart(r, f)
	p.FoilText = r.Write(f.Centric.FoilText)
	if c, ok := whole.get("centric"); ok {
		p.Closing = tell(r, "", c.without(knownCentric...))
	}
}

// move fills in the movements.
func (p *Page) move(f *findings.Findings, whole *node) error {
	var nodes []node
	if x, ok := whole.get("excursions"); ok {
		nodes = x.items
	}
	for i := range f.Excursions {
		x := &f.Excursions[i]
		m, err := newMovement(p.reader, x, nodes[i].without(knownMovement...))
		if err != nil {
			return err
		}
		p.Movements = append(p.Movements, m)
	}
	return nil
}

// moreParts are the sections behind the movements: those that have a form of their own,
// then whatever else the findings hold, as it stands there.
func moreParts(r words.Reader, f *findings.Findings, whole *node) []pagePart {
	var out []pagePart
	for _, part := range [...]pagePart{
		{"restore", r.Say("nav.restore"), restorePart(r, f)},
		{"facets", r.Say("nav.facets"), facetsPart(r, f)},
		{"cusps", r.Say("nav.cusps"), cuspAngles(r, f)},
		{"arches", r.Say("nav.arches"), archesPart(r, f.Arches)},
	} {
		if !part.Empty() {
			if part.ID != "restore" {
				part.fold()
			}
			out = append(out, part)
		}
	}
	for _, m := range whole.without(knownTop...) {
		if m.value.kind == scalarNode && m.value.scalar == nil {
			continue // nothing was said
		}
		label, _ := label(m.key)
		part := tell(r, label, []member{m})
		if m.value.kind == objectNode {
			part = tell(r, label, m.value.members)
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
	unlink(p.Normal)
	for i := range p.Teeth {
		unlink(p.Teeth[i].Of)
		p.Teeth[i].Card.withoutPlaces()
	}
	p.Given.withoutPlaces()
	for i := range p.Jaws {
		for k := range p.Jaws[i].Teeth {
			p.Jaws[i].Teeth[k].Go = nil
		}
	}
	for i := range p.Movements {
		m := &p.Movements[i]
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
func thinned(r words.Reader, d *display.Display) string {
	up, lo := &d.Upper, &d.Lower
	if up.Mesh.NumTriangles() == up.Scanned && lo.Mesh.NumTriangles() == lo.Scanned {
		return r.Say("page.full")
	}
	return r.Say("page.thinned", language.With{
		"upper": up.Mesh.NumTriangles(), "upper_of": up.Scanned, "lower": lo.Mesh.NumTriangles(), "lower_of": lo.Scanned,
	})
}

// pageTemplate is filled by [Page.Render], which also gives it its language.
var pageTemplate = template.Must(template.New("page.html").Funcs(template.FuncMap{"say": func(string,
	...any) string {
	return ""
}}).ParseFS(pageFiles, "*.html"))

// Render writes the page.
func (p *Page) Render() ([]byte, error) {
	t, err := pageTemplate.Clone()
	if err != nil {
		return nil, err
	}
	t.Funcs(template.FuncMap{"say": p.say})
	var buf bytes.Buffer
	err = t.Execute(&buf, p)
	return buf.Bytes(), err
}

// say writes the sentence of a key for a template, with names and values in turn.
func (p *Page) say(key string, with ...any) (string, error) {
	w := language.With{}
	for i := 0; i+1 < len(with); i += 2 {
		name, ok := with[i].(string)
		if !ok {
			return "", fmt.Errorf("%s: %v should be a name", key, with[i])
		}
		w[name] = with[i+1]
	}
	return p.reader.Say(key, w), nil
}
