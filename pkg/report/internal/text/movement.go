package text

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
)

// cellWidth is the width, in letters, at which cells of tables are broken.
const cellWidth = 16

// movementTable has a row for each of the travels that are summed up.
func movementTable(n dentition.Notation, x *findings.Excursion, labelled bool) string {
	if len(x.Frames) == 0 {
		return "no position in which the casts meet"
	}
	t := newTable()
	narrow := []table.ColumnConfig{{Number: 3, WidthMax: cellWidth}, {Number: 4, WidthMax: cellWidth}}
	for i := range words.Groups {
		narrow = append(narrow, table.ColumnConfig{Number: 5 + i, WidthMax: cellWidth})
	}
	for i := range narrow {
		narrow[i].WidthMaxEnforcer = text.WrapSoft
	}
	t.SetColumnConfigs(narrow)
	head := table.Row{"travel mm", "opening", "carried by", "contacts"}
	if labelled {
		for _, g := range words.Groups {
			head = append(head, g.Title)
		}
	}
	t.AppendHeader(head)
	for _, i := range words.SummaryFrames(x) {
		fr := &x.Frames[i]
		row := table.Row{fmt.Sprintf("%.4g", fr.TravelMM), fmt.Sprintf("%.3f°", fr.OpeningDeg), "guidance", words.Pairs(n, fr.Contacts)}
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
		t.AppendRow(row)
	}
	return t.Render()
}
