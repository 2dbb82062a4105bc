package text

import (
	"bufio"
	"io"

	"github.com/cusptrace/cusptrace/pkg/findings"
)

// WriteArticulated writes how two arches were put together by hand, in lines for
// a terminal.
func WriteArticulated(w io.Writer, a *findings.Articulated, o Options) error {
	t := &terminal{bufio.NewWriter(w), o.Colour}
	t.say("Fit", a.FitText)
	t.say("Relation", a.RelationText)
	t.say("Rest", a.RestText)
	for _, n := range a.Notes {
		t.say("Note", n)
	}
	return t.w.Flush()
}
