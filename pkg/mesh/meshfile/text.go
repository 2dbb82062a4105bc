package meshfile

import (
	"bytes"
	"strconv"
)

// text walks through a text file by lines and by words. Lines end in LF or
// CRLF, or in CR alone where the file has no LF at all.
type text struct {
	rest []byte // not yet read
	line int    // number of the line that next or word last read from
	eol  byte
	cur  []byte // rest of the current line
}

func newText(data []byte) *text {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")) // byte order mark
	t := &text{rest: data, eol: '\n'}
	if bytes.IndexByte(data, '\n') < 0 {
		t.eol = '\r'
	}
	return t
}

// next makes the next line the current one; false at the end of the file.
func (t *text) next() bool {
	if len(t.rest) == 0 {
		t.cur = nil
		return false
	}
	t.line++
	if i := bytes.IndexByte(t.rest, t.eol); i >= 0 {
		t.cur, t.rest = t.rest[:i], t.rest[i+1:]
	} else {
		t.cur, t.rest = t.rest, nil
	}
	return true
}

// field takes the next word of the current line; nil where there is none.
func (t *text) field() []byte {
	i := 0
	for i < len(t.cur) && t.cur[i] <= ' ' {
		i++
	}
	j := i
	for j < len(t.cur) && t.cur[j] > ' ' {
		j++
	}
	w := t.cur[i:j:j]
	t.cur = t.cur[j:]
	if len(w) == 0 {
		return nil
	}
	return w
}

// word takes the next word, going on to later lines; nil at the end of the file.
func (t *text) word() []byte {
	for {
		if w := t.field(); w != nil {
			return w
		}
		if !t.next() {
			return nil
		}
	}
}

// number reads a decimal number. NaN and infinities pass: whether they matter
// is for the caller to say.
func (t *text) number(w []byte) (float64, error) {
	if w == nil {
		return 0, atLine(t.line, ErrTruncated, "found the end, expected a number")
	}
	f, err := strconv.ParseFloat(string(w), 64)
	if err != nil {
		return 0, atLine(t.line, ErrSyntax, "found %s, expected a number such as -12.5 or 1.25e1", quote(w))
	}
	return f, nil
}

// quote shows what was found, cut where a binary file taken for text would
// fill the screen.
func quote(w []byte) string {
	const longest = 40
	if len(w) > longest {
		return strconv.Quote(string(w[:longest])) + "…"
	}
	return strconv.Quote(string(w))
}
