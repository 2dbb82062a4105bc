package page

import (
	"html/template"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/plan"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// keyEntry explains a sign of the occlusal chart.
type keyEntry struct {
	Picture template.HTML
	Words   string
}

// key explains the signs that the occlusal chart of some findings can hold.
func key(r words.Reader, f *findings.Findings, list []judgement) []keyEntry {
	var out []keyEntry
	add := func(picture, words string) { out = append(out, keyEntry{template.HTML(picture), words}) }
	foils := words.FoilsOf(f)
	for i, foil := range foils {
		kind := "foil"
		if i == 0 {
			kind = "stop"
		}
		add(`<circle class="`+kind+`" cx="13" cy="7" r="5"/>`, r.Say("plan.closed", language.With{"um": words.Micrometres(foil.Um())}))
	}
	if len(f.Excursions) > 0 {
		for _, u := range [...]plan.Use{plan.Working, plan.Nonworking, plan.Forward} {
			add(`<polyline class="way `+string(u)+`" points="1,7 25,7"/>`, r.Say("plan.way."+string(u)))
		}
	}
	for _, w := range [...]plan.Weight{plan.Heavy, plan.Light, plan.Note} {
		if slices.ContainsFunc(list, func(j judgement) bool { return j.Weight == w }) {
			add(`<g class="sign `+string(w)+`" transform="translate(13 7) scale(.45)">`+plan.Shape(w, 0)+`</g>`, r.Say("weight."+string(w)))
		}
	}
	if len(f.Restore) > 0 {
		add(`<rect class="crown restored" x="5" y="2" width="16" height="10" rx="4"/>`, r.Say("plan.restored"))
	}
	if len(plan.Missing(slices.Concat(f.Scans.Upper.Teeth, f.Scans.Lower.Teeth))) > 0 {
		add(`<circle class="missing" cx="13" cy="7" r="5.5"/>`, r.Say("plan.missing"))
	}
	return out
}
