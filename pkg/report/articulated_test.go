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
<<<<<<< HEAD
		RelationText: "as found", RestText: "pressed together they lock", Notes: []string{"look at it", "and again"},
	}, TextOptions{}))
	require.Equal(t, `Fit        the best of close rivals: the arches come close over 90 mm², 15 % ahead of
           the next best place, 3 mm away (78 mm²)
Relation   as found
Seat       pressed together they lock
=======
		RelationText: "at rest", RestText: "pressed together they lock", ErrorText: "0.2 mm", Notes: []string{"look at it", "and again"},
	}, text.Options{}))
	require.Equal(t, `Fit        the best of close rivals: the arches come close over 90 mm², 15 % ahead of
           the next best place, 3 mm away (78 mm²)
Relation   at rest
Error      0.2 mm
Rest       pressed together they lock
>>>>>>> ceef1c6 (articulate: arches put together from their teeth; right pairs are told from wrong ones by area against chance)
Note       look at it
Note       and again
`, b.String())
}
