package page

import (
	"html/template"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/plan"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// judgement is a finding as the page shows it.
type judgement struct {
	Movement findings.Movement
	Pair     string // the teeth
	Brief    string // what it is, in a few words
	Text     string
	Numbers  []fact
	High     bool // it has a height
	Go       *place3D

	// Number is its place in the list, Weight how much it matters, Sign the shape of
	// that with the number, and Teeth those that it is about.
	Number int
	Weight plan.Weight
	Weighs string // the weight in a word
	Sign   template.HTML
	Still  *pageStill    // at its moment; nil where it has no place
	Ten    template.HTML // a row of ten, as many filled as mountings in which it stands; empty for none
	Teeth  []findings.Part
	about  *findings.Finding
}

// judgements are findings in their order.
func judgements(r words.Reader, f *findings.Findings, list []*findings.Finding) []judgement {
	of := map[*findings.Finding]findings.Movement{}
	for i := range f.Excursions {
		for k := range f.Excursions[i].Findings {
			of[&f.Excursions[i].Findings[k]] = f.Excursions[i].Movement
		}
	}
	var out []judgement
	for i, g := range list {
		j := judge(r, of[g], g)
		j.Number, j.Weight, j.about = i+1, plan.WeightOf(g), g
		j.Pair, j.Brief = about(r, g), r.Write(words.Brief(g, of[g]))
		j.Weighs = r.Say("weight." + string(j.Weight))
		// Shapes and numbers of our own, no text of the case.
		j.Sign = template.HTML(`<svg class="sign ` + string(j.Weight) + `" viewBox="-16 -16 32 32" aria-hidden="true">` +
			plan.Shape(j.Weight, j.Number) + "</svg>")
		j.Teeth = slices.Concat([]findings.Part{g.Upper, g.Lower}, g.Teeth)
		out = append(out, j)
	}
	return out
}

// about names the teeth of a finding.
func about(r words.Reader, g *findings.Finding) string {
	if g.Upper != 0 || g.Lower != 0 {
		return pair(r, g.Upper, g.Lower)
	}
	var teeth []string
	for _, t := range g.Teeth {
		teeth = append(teeth, t.In(r.Notation))
	}
	return strings.Join(teeth, ", ")
}

// valueKeys name the sizes of findings that are no contacts.
var valueKeys = map[findings.Kind]string{
	findings.KindUneven: "finding.value.uneven", findings.KindShallow: "finding.value.shallow", findings.KindKink: "finding.value.kink",
	findings.KindLateDisclusion: "finding.value.late", findings.KindGuidance: "finding.value.guidance",
}

// unitSigns are the signs of the units of the findings file.
var unitSigns = map[string]string{"um": "µm", "mm": "mm", "deg": "°"}

func judge(r words.Reader, movement findings.Movement, g *findings.Finding) judgement {
	j := judgement{Movement: movement, Ten: rowOfTen(r, g.Probability), Text: r.Write(words.Finding(g)),
		Go: &place3D{Movement: movement, TravelMM: g.AtMM, Point: (*[3]float64)(g.PointMM)}}
	add := func(key, value string) { j.Numbers = append(j.Numbers, fact{r.Say(key), value}) }
	if g.Upper != 0 || g.Lower != 0 {
		add("head.teeth", pair(r, g.Upper, g.Lower))
	}
	if on := strings.Trim(g.UpperAt+" / "+g.LowerAt, "/ "); on != "" {
		add("finding.on", on)
	}
	switch {
	case g.Kind == findings.KindPremature:
		j.Go = &place3D{Point: (*[3]float64)(g.PointMM)}
		if g.Next != nil {
			add("finding.next", pair(r, g.Next.Upper, g.Next.Lower))
		}
	case g.FromMM == g.ToMM:
		add("head.travel", r.Write(findings.Span(g.AtMM, g.AtMM)))
	default:
		add("head.travel", r.Say("finding.travel", language.With{"span": findings.Span(g.FromMM, g.ToMM), "at": findings.Span(g.AtMM, g.AtMM)}))
	}
	if g.HeightUm != nil {
		j.High = true
		add("finding.height", quantity(r, *g.HeightUm, "µm"))
	}
	if g.AreaMM2 != nil {
		add("finding.area", quantity(r, *g.AreaMM2, "mm²"))
	}
	if g.Value != nil {
		add(valueKeys[g.Kind], quantity(r, *g.Value, unitSigns[g.Unit]))
	}
	add("finding.foil", quantity(r, g.FoilUm.Um(), "µm"))
	var why []language.Sentence
	for _, c := range g.Causes {
		why = append(why, c.Text)
	}
	if len(why) > 0 {
		add("finding.why", r.Write(language.Join(language.Semicolons(why))))
	}
	return j
}
