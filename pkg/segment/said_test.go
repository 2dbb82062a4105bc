package segment_test

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/segment"
	"github.com/stretchr/testify/require"
)

// What is read is written the same again, or refused; nothing is added then.
func FuzzSay(f *testing.F) {
	for _, s := range []string{"16=12.3,40.1,-2.0", "0=10.0,45.0,-1.0", "14+15=14", "14=14+15",
		"14=15", "14..=15..", "14..=15", "=", "16=1,2", "16=a,b,c", "99=1,2,3"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		var o segment.Options
		if err := o.Say(s); err != nil {
			require.Empty(t, o)
			return
		}
		require.Equal(t, 1, len(o.Corrections)+len(o.Edits))
		var text string
		if len(o.Edits) == 1 {
			text = o.Edits[0].String()
		} else {
			text = o.Corrections[0].String()
		}
		var again segment.Options
		require.NoError(t, again.Say(text), text)
		if len(o.Edits) == 1 {
			require.Equal(t, o, again)
		} else {
			require.Equal(t, o.Corrections[0].Tooth, again.Corrections[0].Tooth)
		}
	})
}
