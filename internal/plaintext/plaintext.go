// Package plaintext tells text that is only shown from characters that steer: they end
// lines, move the cursor of a terminal, or turn the direction of what follows, and so could
// make a line say what nobody wrote.
package plaintext

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Steers reports whether a character steers: control characters, line ends among them, and
// those of the Unicode property Bidi_Control (UAX 9), whose misuse CVE-2021-42574 describes.
func Steers(c rune) bool {
	const lineSeparator, paragraphSeparator = '\u2028', '\u2029'
	return unicode.IsControl(c) || unicode.Is(unicode.Bidi_Control, c) || c == lineSeparator || c == paragraphSeparator
}

// Line is a text for one line: characters that steer, and bytes that are no UTF-8, stand as
// Go writes them in strings, such as \n.
func Line(s string) string {
	var b strings.Builder
	for len(s) > 0 {
		c, size := utf8.DecodeRuneInString(s)
		part := s[:size]
		if Steers(c) || c == utf8.RuneError && size == 1 {
			quoted := strconv.QuoteToASCII(part)
			part = quoted[1 : len(quoted)-1]
		}
		b.WriteString(part)
		s = s[size:]
	}
	return b.String()
}
