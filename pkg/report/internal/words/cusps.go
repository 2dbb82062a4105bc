package words

import (
	"fmt"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/findings"
)

// LeavesWords says between which cusps a cusp leaves, and where.
func LeavesWords(l *findings.Exit) string {
	a, b := l.Between[0], l.Between[1]
	if tooth, cusp, _ := strings.Cut(a, " "); strings.HasPrefix(b, tooth+" ") {
		a = tooth + " " + strings.TrimSuffix(cusp, " cusp")
		b = strings.TrimPrefix(b, tooth+" ")
	}
	return fmt.Sprintf("between %s and %s at %.1f mm", a, b, l.TravelMM)
}
