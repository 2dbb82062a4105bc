package text

import (
	"bufio"
	"io"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// WriteArticulated writes how two arches were put together by hand, in lines for
// a terminal.
func WriteArticulated(w io.Writer, a *findings.Articulated, o Options) error {
	t := &terminal{bufio.NewWriter(w), o.Colour, words.Reader{Language: o.Language}}
	t.say("label.fit", language.Literal(a.FitText))
	t.say("label.relation", language.Literal(a.RelationText))
	t.say("label.error", language.Literal(a.ErrorText))
	t.say("label.seat", language.Literal(a.SeatText))
	for _, n := range a.Notes {
		t.say("label.note", language.Literal(n))
	}
	return t.w.Flush()
}
