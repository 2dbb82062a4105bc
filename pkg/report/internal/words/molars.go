package words

import (
	"fmt"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// Published means and standard deviations, in mm, of the clearance of the first
// molars after 3 mm of a movement (Hobo & Takayama 1997, Int J Periodontics
// Restorative Dent 17:113-123; numbers from memory). They are context, not limits.
const (
	usualProtrusive = "1.1 ± 0.6"
	usualNonworking = "1.0 ± 0.6"
	usualWorking    = "0.5 ± 0.3"
)

// FirstMolars tells how far the upper first molars are clear after 3 mm, beside
// published means; empty where that is not known.
func FirstMolars(n dentition.Notation, x *findings.Excursion) string {
	var out []string
	for _, d := range x.Disclusion {
		t := dentition.ToothID(d.Tooth)
		mm, ok := d.ClearanceMM["3"]
		if t.Jaw() != dentition.Upper || t.Type() != dentition.FirstMolar || !ok {
			continue
		}
		usual := usualNonworking
		switch x.Movement {
		case "protrusive":
			usual = usualProtrusive
		case t.Side().String():
			usual = usualWorking
		}
		out = append(out, fmt.Sprintf("%s %.1f mm clear (published mean %s)", n.Format(t), mm, usual))
	}
	if len(out) == 0 {
		return ""
	}
	return "At 3 mm " + strings.Join(out, ", ") + "."
}
