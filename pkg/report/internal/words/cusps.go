package words

import (
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// Leaves says between which cusps a cusp leaves, and where; empty where it does not.
func Leaves(l *findings.Exit) language.Sentence {
	if l == nil {
		return language.Sentence{}
	}
	a, b := l.Between[0], l.Between[1]
	with := language.With{"tooth": a.Tooth, "first": a.Cusp, "other": b.Tooth, "second": b.Cusp, "at": l.TravelMM}
	if a.Tooth == b.Tooth {
		return language.Say("cusps.leaves.one", with)
	}
	return language.Say("cusps.leaves.two", with)
}
