package text

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestTableSetsCellsSideBySide(t *testing.T) {
	table := newTable(map[int]int{1: 7}, "µm", "where it is", "")
	require.True(t, table.empty())
	table.row("8", "on one", "a\nb")
	table.row("100", "", "")
	require.False(t, table.empty())
	line := strings.Repeat("─", len("100")+7+len("a")+3*len(columnGap))
	require.Equal(t, strings.Join([]string{
		"µm   where",
		"     it is",
		line,
		"8    on one   a",
		"              b",
		"100",
	}, "\n"), table.String(), "a column with broken cells has its full width")
}
