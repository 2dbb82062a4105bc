package report

import (
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/text"
	"github.com/stretchr/testify/require"
)

func TestWriteArticulated(t *testing.T) {
	var b strings.Builder
	require.NoError(t, text.WriteArticulated(&b, &findings.Articulated{
		FitText:      "the best of close rivals: the arches come close over 90 mm², 15 % ahead of the next best place, 3 mm away (78 mm²)",
		RelationText: "at rest", RestText: "pressed together they lock", Notes: []string{"look at it", "and again"},
	}, text.Options{}))
	require.Equal(t, `Fit        the best of close rivals: the arches come close over 90 mm², 15 % ahead of
           the next best place, 3 mm away (78 mm²)
Relation   at rest
Rest       pressed together they lock
Note       look at it
Note       and again
`, b.String())
}
