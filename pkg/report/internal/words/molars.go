package words

import (
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// Means and standard deviations, in mm, of the clearance of the first molars after
// 3 mm of a movement (Hobo & Takayama 1997, Int J Periodontics Restorative Dent
// 17:113-123; the numbers are quoted from memory). They are context, not limits.
const (
	usualProtrusive = "1.1 ± 0.6"
	usualNonworking = "1.0 ± 0.6"
	usualWorking    = "0.5 ± 0.3"
)

// FirstMolars tell the clearance of the upper first molars after 3 mm beside the usual
// one; empty where that is not known.
func FirstMolars(x *findings.Excursion) language.Sentence {
	var out []language.Sentence
	for _, d := range x.Disclusion {
		t := d.Tooth.Tooth()
		mm, ok := d.ClearanceMM["3"]
		if t.Jaw() != dentition.Upper || t.Type() != dentition.FirstMolar || !ok {
			continue
		}
		usual := usualNonworking
		switch x.Movement {
		case "protrusive":
			usual = usualProtrusive
		case findings.Movement(t.Side().String()):
			usual = usualWorking
		}
		out = append(out, language.Say("molar.clear", language.With{"tooth": d.Tooth, "mm": mm, "usual": usual}))
	}
	return language.Join(language.Text(out))
}
