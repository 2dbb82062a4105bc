package casefile

import (
	"strings"
)

// nearest is the candidate that a typing error may have turned into s: the one
// with the fewest slips (a letter too many, too few, wrong, or two exchanged),
// the first of equals. It is empty where all are too far, which is more than one
// slip in three letters.
func nearest(s string, candidates []string) string {
	best, least := "", max(1, min(len(s), 30)/3)+1
	for _, c := range candidates {
		if n := slips(strings.ToLower(s), strings.ToLower(c)); n < least {
			best, least = c, n
		}
	}
	return best
}

// slips is the distance of optimal string alignment between a and b, counted
// in bytes. Texts of more than 100 bytes count as far apart.
func slips(a, b string) int {
	const far = 100
	if len(a) > far || len(b) > far {
		return far
	}
	// row[k][j] is the distance of the first i−k letters of a to the first j of b.
	var row [3][far + 1]int
	for j := range len(b) + 1 {
		row[0][j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[2], row[1] = row[1], row[0]
		row[0][0] = i
		for j := 1; j <= len(b); j++ {
			wrong := 1
			if a[i-1] == b[j-1] {
				wrong = 0
			}
			n := min(row[1][j]+1, row[0][j-1]+1, row[1][j-1]+wrong)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				n = min(n, row[2][j-2]+1)
			}
			row[0][j] = n
		}
	}
	return row[0][len(b)]
}

// orList is "a, b or c".
func orList(words []string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " or " + words[n-1]
	}
}
