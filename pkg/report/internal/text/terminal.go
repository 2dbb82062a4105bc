package text

import (
	"bufio"
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// terminal writes text for a terminal: labels in a column of their own, lines
// broken between words, and colours if they are wanted. Colours repeat what the
// words say.
type terminal struct {
	w      *bufio.Writer
	colour bool
	r      words.Reader
}

// lineWidth is where lines end, in letters; tables keep within it or are only a
// little wider.
const lineWidth = 88

// labelWidth is the width of the column of labels.
const labelWidth = 11

// tone is a way of writing: the number of ECMA-48, 8.3.117 (SGR).
type tone int

const (
	plain  tone = 0
	bold   tone = 1
	red    tone = 31
	green  tone = 32
	yellow tone = 33
)

// paint writes s in a tone.
func (t *terminal) paint(s string, how tone) string {
	if !t.colour || how == plain || s == "" {
		return s
	}
	return fmt.Sprintf("\x1b[%dm%s\x1b[0m", how, s)
}

func (t *terminal) line(s string) { fmt.Fprintln(t.w, s) }

// heading begins a part; key is that of its words.
func (t *terminal) heading(key string) {
	fmt.Fprintf(t.w, "\n%s\n", t.paint(t.r.Say(key), bold))
}

// entry writes a label, by its key, and a text, the first words of it in a tone.
func (t *terminal) entry(key, first string, how tone, rest string) {
	label := t.r.Say(key)
	lines := wrap(first+rest, lineWidth-labelWidth)
	if s, ok := strings.CutPrefix(lines[0], first); ok {
		lines[0] = t.paint(first, how) + s
	}
	pad := strings.Repeat(" ", max(1, labelWidth-utf8.RuneCountInString(label)))
	t.line(t.paint(label, bold) + pad + strings.Join(lines, "\n"+strings.Repeat(" ", labelWidth)))
}

// say writes a label, by its key, and a sentence; nothing where that is empty.
func (t *terminal) say(key string, s language.Sentence) {
	if !s.Empty() {
		t.entry(key, "", plain, t.r.Write(s))
	}
}

// item writes a numbered text.
func (t *terminal) item(number int, how tone, text string) {
	t.line(t.paint(fmt.Sprintf("%3d", number), how) + "  " + strings.Join(wrap(text, lineWidth-5), "\n     "))
}

// text writes a sentence as a paragraph; nothing where it is empty.
func (t *terminal) text(s language.Sentence) {
	if !s.Empty() {
		t.line(strings.Join(wrap(t.r.Write(s), lineWidth), "\n"))
	}
}

// wrap breaks a text between words into lines of at most width letters, as far
// as its words allow. There is always one line.
func wrap(s string, width int) []string {
	lines := []string{""}
	used := 0
	for i, word := range strings.Fields(s) {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
		case used+1+n > width:
			lines, used = append(lines, ""), 0
		default:
			lines[len(lines)-1] += " "
			used++
		}
		lines[len(lines)-1] += word
		used += n
	}
	return lines
}
