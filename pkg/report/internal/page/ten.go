package page

import (
	"fmt"
	"html/template"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// rowOfTen draws ten dots, as many of them filled as mountings of ten in which a finding
// stands: natural frequencies are understood better than percentages (Gigerenzer & Hoffrage
// 1995, Psychol Rev 102:684, from memory).
func rowOfTen(r words.Reader, p *findings.Probability) template.HTML {
	if p == nil {
		return ""
	}
	var b strings.Builder
	b.WriteString(`<svg class="ten" viewBox="0 0 100 10" role="img" aria-label="` +
		template.HTMLEscapeString(r.Write(findings.ShareWords(p.Share))) + `">`)
	n := findings.Tenths(p.Share)
	for i := range 10 {
		class := "off"
		if i < n {
			class = "on"
		}
		fmt.Fprintf(&b, `<circle class="%s" cx="%d" cy="5" r="3.6"/>`, class, 5+10*i)
	}
	b.WriteString("</svg>")
	// Numbers and shapes of our own, no text of the case.
	return template.HTML(b.String())
}
