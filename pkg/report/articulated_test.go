package report

import (
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

func TestWriteArticulated(t *testing.T) {
	var b strings.Builder
	require.NoError(t, WriteArticulated(&b, &findings.Articulated{
		FitText:      "the best of close rivals: the arches come close over 90 mm², 15 % ahead of the next best place, 3 mm away (78 mm²)",
		RelationText: "as found", SeatText: "pressed together they lock", ErrorText: "0.2 mm", Notes: []string{"look at it", "and again"},
	}, TextOptions{}))
	require.Equal(t, `Fit        the best of close rivals: the arches come close over 90 mm², 15 % ahead of
           the next best place, 3 mm away (78 mm²)
Relation   as found
Error      0.2 mm
Seat       pressed together they lock
Note       look at it
Note       and again
`, b.String())
}
