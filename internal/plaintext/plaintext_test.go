package plaintext

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestLine(t *testing.T) {
	for in, want := range map[string]string{
		"": "",
		"Zähne 26/36, 歯, ند\u200cی \u200d👩\u200d⚕️": "Zähne 26/36, 歯, ند\u200cی \u200d👩\u200d⚕️",
		"a\nFindings: none":           `a\nFindings: none`,
		"a\x1b[31m\r\t\x7f\u0085":     `a\x1b[31m\r\t\x7f\u0085`,
		"a\u202eb\u2066c\u200f\u061c": `a\u202eb\u2066c\u200f\u061c`,
		"a\u2028b":                    `a\u2028b`,
		"a\xffb\ufffd":                `a\xffb` + "\ufffd",
	} {
		require.Equal(t, want, Line(in))
		require.False(t, strings.ContainsFunc(Line(in), Steers))
	}
}
