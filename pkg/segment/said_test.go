package segment_test

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/segment"
	"github.com/stretchr/testify/require"
)

// What is read is written the same again, or refused; nothing is added then.
func FuzzSay(f *testing.F) {
	for _, s := range []string{"16=12.3,40.1,-2.0", "0=10.0,45.0,-1.0", "14+15=14", "14=14+15",
		"14=15", "14..=15..", "14..=15", "=", "16=1,2", "16=a,b,c", "99=1,2,3",
		"16=border/1,2,3/4,5,6.25/1,2,3", "16=border/1,2,3", "16=border/1,2/3,4,5", "16=borders/1,2,3/4,5,6", "x=border/1,2,3/4,5,6"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		var o segment.Options
		if err := o.Say(s); err != nil {
			require.Empty(t, o)
			return
		}
		require.Equal(t, 1, len(o.Corrections)+len(o.Edits)+len(o.Borders))
		var text string
		switch {
		case len(o.Edits) == 1:
			text = o.Edits[0].String()
		case len(o.Borders) == 1:
			text = o.Borders[0].String()
		default:
			text = o.Corrections[0].String()
		}
		var again segment.Options
		require.NoError(t, again.Say(text), text)
		switch {
		case len(o.Edits) == 1:
			require.Equal(t, o, again)
		case len(o.Borders) == 1:
			require.Equal(t, text, again.Borders[0].String())
			require.Len(t, again.Borders[0].Points, len(o.Borders[0].Points))
		default:
			require.Equal(t, o.Corrections[0].Tooth, again.Corrections[0].Tooth)
		}
	})
}
