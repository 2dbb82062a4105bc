package text

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// cellWidth is the width, in letters, at which cells of tables are broken.
const cellWidth = 16

// movementTable has a row for each of the travels that are summed up.
func movementTable(r words.Reader, x *findings.Excursion, labelled bool) string {
	if len(x.Frames) == 0 {
		return r.Say("movement.none")
	}
	widest := map[int]int{2: cellWidth, 3: cellWidth}
	head := []string{r.Say("head.travel"), r.Say("head.opening"), r.Say("head.guiding"), r.Say("head.contacts")}
	if labelled {
		for _, g := range words.Groups {
			widest[len(head)] = cellWidth
			head = append(head, r.Say(g.Title))
		}
	}
	t := newTable(widest, head...)
	for _, i := range words.SummaryFrames(x) {
		fr := &x.Frames[i]
		contacts := language.Join(language.Commas(words.Pairs(fr.Contacts)))
		if !labelled {
			contacts = words.Count(fr.Contacts)
		}
		row := []string{fmt.Sprintf("%.4g mm", fr.TravelMM), fmt.Sprintf("%.3f°", fr.OpeningDeg),
			r.Write(words.Guiding(fr, labelled)), r.Write(contacts)}
		if labelled {
			for _, g := range words.Groups {
				row = append(row, r.Write(words.LeastClearance(fr, g)))
			}
		}
		t.row(row...)
	}
	return t.String()
}
