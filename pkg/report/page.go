package report

import (
	"bytes"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
)

//go:embed page.html
var pageSource string

//go:embed page.css
var pageStyle string

// page is what the template shows. Everything that comes from a case is a plain
// string, which the template escapes.
type page struct {
	Title     string
	Style     template.CSS
	Caution   string
	Mounting  mountingCard
	Findings  []judgement
	Glance    []glanceRow
	Notes     []string
	View      *viewBundle
	Stills    []pageStill
	Scale     template.CSS // the colour map as a gradient
	Map       legendScale
	Foils     []string
	Jaws      []jawStops
	Closing   facts
	Movements []pageMovement
	More      []facts
	Settings  []facts
	Display   string
	Origin    *Origin
}

// mountingCard answers whether the mounting can be trusted.
type mountingCard struct {
	Verdict  string
	Reasons  []string
	Relation string
	AtRest   string
	How      string
}

// legendScale are the ends of the colours of the charts.
type legendScale struct{ From, To string }

type pageStill struct {
	Title, Alt, File string
	Source           template.URL
}

// glanceRow is a movement in one line.
type glanceRow struct {
	Title string
	ID    string
	Cells []string
}

// jawStops is the table of an arch.
type jawStops struct {
	Title string
	Teeth []toothStop
}

type toothStop struct {
	Code, Name, Gap, Meets, Incline string
	Foils                           []string
	Go                              *place3D
}

type pageMovement struct {
	ID, Name, Title, Short string

	Course    string
	Ended     string
	Opening   *pageChart
	Clearance *pageChart
	Rows      []movementRow
	Groups    []string
	Findings  []judgement
	More      facts
}

type pageChart struct {
	chart
	Words string
}

type movementRow struct {
	Travel, Opening, Carrier, Contacts string
	Groups                             []string
	Go                                 *place3D
}

// known are the parts of the findings that the page shows in its own way.
var (
	knownTop      = []string{"format", "version", "name", "mount", "settings", "warnings", "scans", "settling", "centric", "excursions", "findings"}
	knownCentric  = []string{"opening_deg", "pose", "contacts", "teeth", "mounting"}
	knownMovement = []string{"movement", "frames", "findings", "ended_mm", "ended"}
)

// newPage gathers what the page shows.
func newPage(f *occlusion.Findings, d *occlusion.Display, o *Origin, pictures [][]byte) (*page, error) {
	whole, err := toNode(f)
	if err != nil {
		return nil, err
	}
	p := &page{Title: "Examination of dental casts", Style: template.CSS(pageStyle), Caution: Caution, Notes: f.Warnings, Origin: o, Scale: gradient()}
	if f.Name != "" {
		p.Title = f.Name
	}
	for _, um := range foilsOf(f) {
		p.Foils = append(p.Foils, micrometres(um))
	}
	p.Map = legendScale{"0", micrometres(1000 * clearanceRange)}
	p.Mounting = mountingCard{Relation: relation(f), AtRest: atRest(f), How: mounting(f)}
	centric := &node{}
	if n, ok := whole.get("centric"); ok {
		centric = n
	}
	if m, ok := centric.get("mounting"); ok {
		p.Mounting.read(m)
	}
	p.Closing = tell("", centric.without(knownCentric...))
	p.Jaws = centricStops(f, p.Foils)
	p.addFindings(&whole)
	if err := p.addMovements(f, &whole); err != nil {
		return nil, err
	}
	for _, m := range whole.without(knownTop...) {
		label, _ := words(m.key)
		part := tell(label, []member{m})
		if m.value.kind == objectNode {
			part = tell(label, m.value.members)
		}
		if !part.empty() {
			p.More = append(p.More, part)
		}
	}
	for _, key := range [...]string{"settings", "mount", "settling", "scans"} {
		if n, ok := whole.get(key); ok {
			label, _ := words(key)
			p.Settings = append(p.Settings, tell(label, n.members))
		}
	}
	for i := range pictures {
		s := &stills[i]
		p.Stills = append(p.Stills, pageStill{Title: s.title, File: stillName(s), Alt: s.words(f),
			Source: template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(pictures[i]))})
	}
	p.Display = thinned(d)
	if p.View, err = newView(f, d); err != nil {
		return nil, err
	}
	return p, nil
}

func (m *mountingCard) read(n *node) {
	if v, ok := n.get("verdict"); ok {
		m.Verdict, _ = v.text("")
	}
	if v, ok := n.get("reasons"); ok {
		for i := range v.items {
			if s, ok := v.items[i].text(""); ok {
				m.Reasons = append(m.Reasons, s)
			} else if t, ok := v.items[i].get("text"); ok {
				s, _ := t.text("")
				m.Reasons = append(m.Reasons, s)
			}
		}
	}
}

// addFindings collects the findings of the whole and of each movement, the most
// important first.
func (p *page) addFindings(whole *node) {
	add := func(movement string, n *node) {
		list, ok := n.get("findings")
		if !ok {
			return
		}
		for i := range list.items {
			p.Findings = append(p.Findings, judge(movement, &list.items[i]))
		}
	}
	add("", whole)
	if c, ok := whole.get("centric"); ok {
		add("", c)
	}
	if x, ok := whole.get("excursions"); ok {
		for i := range x.items {
			name := ""
			if m, ok := x.items[i].get("movement"); ok {
				name, _ = m.scalar.(string)
			}
			add(name, &x.items[i])
		}
	}
	slices.SortStableFunc(p.Findings, func(a, b judgement) int {
		switch {
		case a.Severity < b.Severity:
			return -1
		case a.Severity > b.Severity:
			return 1
		}
		return 0
	})
}

func (p *page) addMovements(f *occlusion.Findings, whole *node) error {
	var nodes []node
	if x, ok := whole.get("excursions"); ok {
		nodes = x.items
	}
	for i := range f.Excursions {
		x := &f.Excursions[i]
		m := pageMovement{ID: "movement-" + x.Movement, Name: x.Movement, Title: movementTitle(x.Movement), Short: strings.ToUpper(x.Movement[:1]) + x.Movement[1:]}
		if x.EndedMM != nil {
			m.Ended = fmt.Sprintf("At %.4g mm %s.", *x.EndedMM, x.Ended)
		}
		for _, j := range p.Findings {
			if j.Movement == x.Movement {
				m.Findings = append(m.Findings, j)
			}
		}
		m.More = tell("", nodes[i].without(knownMovement...))
		if len(x.Frames) > 0 {
			m.Course = course(x)
			if err := m.charts(x); err != nil {
				return err
			}
			m.rows(x)
		}
		p.Movements = append(p.Movements, m)
		p.Glance = append(p.Glance, glance(x, &m))
	}
	return nil
}

func (m *pageMovement) charts(x *occlusion.Excursion) error {
	c, err := openingChart(x)
	if err != nil {
		return err
	}
	m.Opening = &pageChart{c, openingWords(x)}
	if c, err = clearanceChart(x); err != nil {
		return err
	}
	if c.SVG != "" {
		m.Clearance = &pageChart{c, "Clearance of every tooth over the travel, as colour; the table below gives the least values, frames.csv all of them."}
	}
	return nil
}

// rows sums the movement up as the printed summary does.
func (m *pageMovement) rows(x *occlusion.Excursion) {
	labelled := false
	for name := range x.Frames[0].ClearanceMM {
		if _, err := dentition.ParseTooth(name); err == nil {
			labelled = true
		}
	}
	if labelled {
		for _, g := range groups {
			m.Groups = append(m.Groups, strings.ToUpper(g.title[:1])+g.title[1:])
		}
	}
	for _, i := range summaryFrames(x) {
		fr := &x.Frames[i]
		r := movementRow{Travel: fmt.Sprintf("%.4g mm", fr.TravelMM), Opening: fmt.Sprintf("%.2f°", fr.OpeningDeg), Carrier: "–",
			Contacts: pairs(fr.Contacts), Go: &place3D{Movement: x.Movement, TravelMM: fr.TravelMM}}
		if c := fr.Carrier; c != nil {
			r.Carrier = pair(c.Upper, c.Lower)
			r.Go.Point = (*[3]float64)(&c.PointMM)
		}
		if n := fr.Interference; n != nil {
			r.Carrier = fmt.Sprintf("guide; %s would meet early, by %.0f µm", pair(n.Upper, n.Lower), n.HeightUm)
		}
		if labelled {
			for _, g := range groups {
				r.Groups = append(r.Groups, leastClear(fr, g))
			}
		}
		m.Rows = append(m.Rows, r)
	}
}

// glance is who carries at the travels that are summed up.
func glance(x *occlusion.Excursion, m *pageMovement) glanceRow {
	r := glanceRow{Title: m.Title, ID: m.ID}
	for _, travel := range summaryTravels {
		cell := "–"
		for i := range x.Frames {
			if fr := &x.Frames[i]; math.Abs(fr.TravelMM-travel) < 1e-9 && fr.Carrier != nil {
				cell = pair(fr.Carrier.Upper, fr.Carrier.Lower)
			}
		}
		r.Cells = append(r.Cells, cell)
	}
	return r
}

// centricStops has a row for each tooth, along the arches.
func centricStops(f *occlusion.Findings, foils []string) []jawStops {
	out := []jawStops{{Title: "Upper teeth"}, {Title: "Lower teeth"}}
	teeth := slices.Clone(f.Centric.Teeth)
	slices.SortStableFunc(teeth, func(a, b occlusion.CentricTooth) int { return place(a.Tooth.String()) - place(b.Tooth.String()) })
	for _, t := range teeth {
		id := dentition.ToothID(t.Tooth)
		row := toothStop{Code: t.Tooth.String(), Name: id.Name(), Gap: quantity(t.GapUm, "µm"), Meets: "–", Incline: "–"}
		for _, foil := range foils {
			row.Foils = append(row.Foils, t.Foil[foil])
		}
		var meets, inclines []string
		for _, c := range f.Centric.Contacts {
			other, incline := c.Lower, c.InclineDeg.Upper
			switch t.Tooth {
			case c.Upper:
			case c.Lower:
				other, incline = c.Upper, c.InclineDeg.Lower
			default:
				continue
			}
			if row.Go == nil {
				row.Go = &place3D{Point: (*[3]float64)(&c.PointMM)}
			}
			if s := other.String(); !slices.Contains(meets, s) {
				meets = append(meets, s)
			}
			if incline != nil {
				if s := fmt.Sprintf("%.0f°", *incline); !slices.Contains(inclines, s) {
					inclines = append(inclines, s)
				}
			}
		}
		if len(meets) > 0 {
			row.Meets = strings.Join(meets, ", ")
		}
		if len(inclines) > 0 {
			row.Incline = strings.Join(inclines, ", ")
		}
		jaw := &out[0]
		if id.Jaw() == dentition.Lower {
			jaw = &out[1]
		}
		jaw.Teeth = append(jaw.Teeth, row)
	}
	return slices.DeleteFunc(out, func(j jawStops) bool { return len(j.Teeth) == 0 })
}

// words describes a still picture for those who do not see it.
func (s *still) words(f *occlusion.Findings) string {
	t := s.title + ", closed at rest."
	if !s.mapped {
		return t
	}
	if p := pairs(f.Centric.Contacts); p != "" {
		return t + " Marks at " + p + "; clearance as colour."
	}
	return t + " Clearance as colour."
}

// gradient is the colour map for CSS.
func gradient() template.CSS {
	return template.CSS("linear-gradient(to right, " + strings.Join(mapStops[:], ", ") + ")")
}

// thinned says what was done to the surfaces for display.
func thinned(d *occlusion.Display) string {
	up, lo := &d.Upper, &d.Lower
	if up.Mesh.NumTriangles() == up.Scanned && lo.Mesh.NumTriangles() == lo.Scanned {
		return "Pictures show the scans with their full number of triangles."
	}
	return fmt.Sprintf("Pictures show thinned surfaces: %d of %d triangles of the upper arch, %d of %d of the lower one. Nothing was measured on them: all numbers come from the full scans.",
		up.Mesh.NumTriangles(), up.Scanned, lo.Mesh.NumTriangles(), lo.Scanned)
}

var pageTemplate = template.Must(template.New("page").Funcs(template.FuncMap{
	"title": movementTitle,
}).Parse(pageSource))

// render writes the page.
func (p *page) render() ([]byte, error) {
	var buf bytes.Buffer
	err := pageTemplate.Execute(&buf, p)
	return buf.Bytes(), err
}
