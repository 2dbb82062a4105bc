package page

import (
	"fmt"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// judgement is a finding as the page shows it.
type judgement struct {
	Movement string
	Text     string
	Numbers  []fact
	High     bool // it has a height
	Go       *place3D
}

// judgements lists the findings of all movements, the most important first.
func judgements(f *findings.Findings) []judgement {
	of := map[*findings.Finding]string{}
	for i := range f.Excursions {
		for k := range f.Excursions[i].Findings {
			of[&f.Excursions[i].Findings[k]] = f.Excursions[i].Movement
		}
	}
	var out []judgement
	for _, g := range words.BySeverity(f) {
		out = append(out, judge(f.Notation, of[g], g))
	}
	return out
}

// valueNames are what the sizes of findings that are no contacts are.
var valueNames = map[findings.Kind]string{
	findings.KindUneven: "Other side apart by", findings.KindShallow: "Less far down by", findings.KindKink: "Change",
	findings.KindLateDisclusion: "All clear from", findings.KindGuidance: "Inclination of the guiding tooth's way",
}

// unitSigns are the signs of the units of the findings file.
var unitSigns = map[string]string{"um": "µm", "mm": "mm", "deg": "°"}

func judge(n dentition.Notation, movement string, g *findings.Finding) judgement {
	j := judgement{Movement: movement, Text: g.Text.In(n), Go: &place3D{Movement: movement, TravelMM: g.AtMM, Point: (*[3]float64)(g.PointMM)}}
	add := func(label, format string, args ...any) {
		j.Numbers = append(j.Numbers, fact{label, fmt.Sprintf(format, args...)})
	}
	if g.Upper != 0 || g.Lower != 0 {
		add("Teeth", "%s", words.Pair(n, g.Upper, g.Lower))
	}
	if on := strings.Trim(g.UpperAt+" / "+g.LowerAt, "/ "); on != "" {
		add("On", "%s", on)
	}
	if g.FromMM == g.ToMM {
		add("Travel", "%.1f mm", g.AtMM)
	} else {
		add("Travel", "%.1f to %.1f mm, most at %.1f mm", g.FromMM, g.ToMM, g.AtMM)
	}
	if g.HeightUm != nil {
		j.High = true
		add("Height", "%s", quantity(*g.HeightUm, "µm"))
	}
	if g.AreaMM2 != nil {
		add("Contact area", "%s", quantity(*g.AreaMM2, "mm²"))
	}
	if g.Value != nil {
		add(valueNames[g.Kind], "%s", quantity(*g.Value, unitSigns[g.Unit]))
	}
	add("Foil", "%s", quantity(g.FoilUm, "µm"))
	if g.PastEdge {
		add("Begins", "past the edge-to-edge position")
	}
	if g.Holds.State != findings.NotTried {
		add("With other settings", "%s", g.Holds)
	}
	var why []string
	for _, c := range g.Causes {
		why = append(why, c.Text.In(n))
	}
	if len(why) > 0 {
		add("Why", "%s", strings.Join(why, "; "))
	}
	return j
}
