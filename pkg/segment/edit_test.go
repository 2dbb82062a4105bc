package segment

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/stretchr/testify/require"
)

func named(row []span) (out []dentition.ToothID) {
	for _, s := range row {
		out = append(out, s.tooth)
	}
	return out
}

// From 13 to 18, each as wide as 7 mm, with a valley at every border and in the middle of 16.
func TestEdits(t *testing.T) {
	var row []span
	b := &band{valley: make([]float64, 200)}
	for i := range b.valley {
		b.valley[i] = 1
	}
	w := columns(7)
	for i, c := range []dentition.ToothID{18, 17, 16, 15, 14, 13} {
		row = append(row, span{tooth: c, start: i * w, end: (i + 1) * w, confidence: 0.5})
		b.valley[i*w] = 0
	}
	b.valley[2*w+w/2] = 0
	ids := func(c ...dentition.ToothID) []dentition.ToothID { return c }
	for name, e := range map[string]struct {
		Edit
		want []dentition.ToothID
	}{
		"renamed":  {Edit{Found: ids(13), Are: ids(12)}, ids(18, 17, 16, 15, 14, 12)},
		"joined":   {Edit{Found: ids(14, 15), Are: ids(14)}, ids(18, 17, 16, 14, 13)},
		"onwards":  {Edit{Found: ids(13), Are: ids(12), Onwards: true}, ids(17, 16, 15, 14, 13, 12)},
		"of three": {Edit{Found: ids(16, 15, 14), Are: ids(16)}, ids(18, 17, 16, 13)},
	} {
		got, err := edit(b, row, []Edit{e.Edit})
		require.NoError(t, err, name)
		require.Equal(t, e.want, named(got), name)
	}
	// What was joined can be parted again, at the deepest valley.
	got, err := edit(b, row, []Edit{{Found: ids(18, 17), Are: ids(18)}, {Found: ids(18), Are: ids(18, 17)}})
	require.NoError(t, err)
	require.Equal(t, named(row), named(got))
	require.InDelta(t, w, got[0].end, 1)
	require.Equal(t, got[0].end, got[1].start)
	require.Equal(t, 1.0, got[0].confidence)
	require.Equal(t, 0.5, got[2].confidence)

	for name, e := range map[string]Edit{
		"not found":         {Found: ids(11), Are: ids(12)},
		"not neighbours":    {Found: ids(13, 15), Are: ids(13)},
		"against the order": {Found: ids(13), Are: ids(15)},
		"too far":           {Found: ids(13), Are: ids(14), Onwards: true},
	} {
		_, err := edit(b, row, []Edit{e})
		require.ErrorIs(t, err, ErrCorrection, name)
	}
	for name, e := range map[string]Edit{
		"no tooth": {Found: ids(13)}, "two for two": {Found: ids(13, 14), Are: ids(14, 15)}, "milk": {Found: ids(53), Are: ids(13)},
		"another quadrant": {Found: ids(13), Are: ids(24), Onwards: true}, "lower": {Found: ids(33), Are: ids(34)},
	} {
		require.Error(t, e.check(dentition.Upper), name)
	}
}
