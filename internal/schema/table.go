package schema

import (
	"fmt"
	"strings"
)

const (
	begin = "<!-- fields: "
	end   = "<!-- end -->\n"
)

// Fill writes the tables of a Markdown document: what stands between the lines
// "<!-- fields: Type -->" and "<!-- end -->" becomes the rows that table returns for the type, the
// head first. Everything else stays.
func Fill(doc string, table func(of string) ([][]string, error)) (string, error) {
	var out strings.Builder
	for {
		before, after, found := strings.Cut(doc, begin)
		out.WriteString(before)
		if !found {
			return out.String(), nil
		}
		of, after, named := strings.Cut(after, " -->\n")
		_, rest, ended := strings.Cut(after, end)
		if !named || !ended {
			return "", fmt.Errorf("%s%s: no %s follows", begin, of, strings.TrimSpace(end))
		}
		rows, err := table(of)
		if err != nil {
			return "", fmt.Errorf("%s%s: %w", begin, of, err)
		}
		out.WriteString(begin + of + " -->\n\n")
		for i, row := range rows {
			out.WriteString("| " + strings.Join(row, " | ") + " |\n")
			if i == 0 {
				out.WriteString(strings.Repeat("|---", len(row)) + "|\n")
			}
		}
		out.WriteString("\n" + end)
		doc = rest
	}
}
