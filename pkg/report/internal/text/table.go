package text

import (
	"strings"
	"unicode/utf8"
)

// table is a table without borders, a line under its head. Cells may hold several
// lines; each is at the left of its column.
type table struct {
	widest map[int]int // of columns whose cells are broken between words, in letters
	rows   [][][]string
}

// newTable is a table with a head.
func newTable(widest map[int]int, head ...string) *table {
	t := &table{widest: widest}
	t.row(head...)
	return t
}

func (t *table) row(cells ...string) {
	row := make([][]string, len(cells))
	for i, c := range cells {
		for _, line := range strings.Split(c, "\n") {
			broken := []string{line}
			if w, ok := t.widest[i]; ok {
				if broken = wrap(line, w); len(broken) > 1 {
					broken[0] = pad(broken[0], w) // a column with broken cells has its full width
				}
			}
			row[i] = append(row[i], broken...)
		}
	}
	t.rows = append(t.rows, row)
}

// pad fills a text up with spaces to a width in letters.
func pad(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s)))
}

// empty says that there is no row below the head.
func (t *table) empty() bool { return len(t.rows) == 1 }

// columnGap stands between columns.
const columnGap = "  "

func (t *table) String() string {
	var widths []int
	for _, row := range t.rows {
		for i, cell := range row {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			for _, line := range cell {
				widths[i] = max(widths[i], utf8.RuneCountInString(line))
			}
		}
	}
	var lines []string
	for r, row := range t.rows {
		lines = append(lines, rowLines(row, widths)...)
		if r == 0 {
			whole := 0
			for _, w := range widths {
				whole += w + len(columnGap)
			}
			lines = append(lines, strings.Repeat("─", whole))
		}
	}
	return strings.Join(lines, "\n")
}

// rowLines sets the cells of a row side by side, without spaces at the end.
func rowLines(row [][]string, widths []int) []string {
	high := 1
	for _, cell := range row {
		high = max(high, len(cell))
	}
	lines := make([]string, high)
	for l := range lines {
		var b strings.Builder
		for i, cell := range row {
			s := ""
			if l < len(cell) {
				s = cell[l]
			}
			b.WriteString(pad(s, widths[i]) + columnGap)
		}
		lines[l] = strings.TrimRight(b.String(), " ")
	}
	return lines
}
