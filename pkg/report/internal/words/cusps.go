package words

import (
	"strings"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// Leaves says between which cusps a cusp leaves, and where; empty where it does not.
func Leaves(l *findings.Exit) language.Sentence {
	if l == nil {
		return language.Sentence{}
	}
	a, b := l.Between[0], l.Between[1]
	if tooth, cusp, _ := strings.Cut(a, " "); strings.HasPrefix(b, tooth+" ") {
		a = tooth + " " + strings.TrimSuffix(cusp, " cusp")
		b = strings.TrimPrefix(b, tooth+" ")
	}
	return language.Say("cusps.leaves", language.With{"first": a, "second": b, "at": l.TravelMM})
}
