package text

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// cellWidth is the width, in letters, at which cells of tables are broken.
const cellWidth = 16

// movementTable has a row for each of the travels that are summed up.
func movementTable(n dentition.Notation, x *findings.Excursion, labelled bool) string {
	if len(x.Frames) == 0 {
		return "no position in which the casts meet"
	}
	widest := map[int]int{2: cellWidth, 3: cellWidth}
	head := []string{"travel mm", "opening", "carried by", "contacts"}
	if labelled {
		for _, g := range words.Groups {
			widest[len(head)] = cellWidth
			head = append(head, g.Title)
		}
	}
	t := newTable(widest, head...)
	for _, i := range words.SummaryFrames(x) {
		fr := &x.Frames[i]
		row := []string{fmt.Sprintf("%.4g", fr.TravelMM), fmt.Sprintf("%.3f°", fr.OpeningDeg), "guidance", words.Pairs(n, fr.Contacts)}
		if fr.Carrier != nil {
			row[2] = words.Pair(n, fr.Carrier.Upper, fr.Carrier.Lower)
		}
		if !labelled {
			row[3] = words.Places(fr.Contacts)
			if fr.Carrier != nil {
				row[2] = "teeth"
			}
		}
		if fr.Interference != nil {
			row[2] = fmt.Sprintf("meets early: %s by %.0f µm", words.Pair(n, fr.Interference.Upper, fr.Interference.Lower), fr.Interference.HeightUm)
		}
		if labelled {
			for _, g := range words.Groups {
				row = append(row, words.LeastClearance(n, fr, g))
			}
		}
		t.row(row...)
	}
	return t.String()
}
