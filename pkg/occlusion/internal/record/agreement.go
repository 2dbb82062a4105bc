package record

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/findings"
)

// tally counts comparisons towards an agreement.
type tally struct {
	findings.Agreement
	both int // agree that there is contact
}

// add counts one comparison; mouth says whether the mouth showed contact.
func (a *tally) add(m findings.Match, mouth bool) {
	switch m {
	case findings.Agree:
		a.Agree++
		if mouth {
			a.both++
		}
	case findings.OnlyMouth:
		a.OnlyMouth++
	case findings.OnlyCasts:
		a.OnlyCasts++
	case findings.Unsure:
		a.Undecided++
	case findings.NotOnCasts:
		a.NotOnCasts++
	}
}

// sum is the count with its shares. Kappa needs both yes and no to be counted, which marks do
// not have: pairs that nobody marked anywhere are not listed.
func (a *tally) sum(kappa bool) findings.Agreement {
	n := a.Agree + a.OnlyMouth + a.OnlyCasts
	if n == 0 {
		return a.Agreement
	}
	share := float64(a.Agree) / float64(n)
	from, to := wilson(a.Agree, n)
	a.Share, a.From, a.To = &share, &from, &to
	if k, ok := cohen(a.both, a.OnlyMouth, a.OnlyCasts, a.Agree-a.both); ok && kappa {
		a.Kappa = &k
	}
	return a.Agreement
}

// wilson is the 95 % score interval of a share k/n (Wilson 1927, J Am Stat Assoc
// 22:209-212), which holds for few cases and for shares of 0 and 1 as well.
func wilson(k, n int) (from, to float64) {
	const z = 1.959963984540054 // of the normal distribution, 2.5 % on each side
	p, m := float64(k)/float64(n), float64(n)
	middle := (p + z*z/(2*m)) / (1 + z*z/m)
	half := z / (1 + z*z/m) * math.Sqrt(p*(1-p)/m+z*z/(4*m*m))
	return max(0, middle-half), min(1, middle+half)
}

// cohen is kappa of two judges who both said yes, of whom only the first, only
// the second, or neither did (Cohen 1960, Educ Psychol Meas 20:37-46). ok is false
// where chance alone would make them agree on everything.
func cohen(both, first, second, neither int) (kappa float64, ok bool) {
	a, b, c, d := float64(both), float64(first), float64(second), float64(neither)
	n := a + b + c + d
	chance := (a+b)*(a+c) + (c+d)*(b+d)
	if n == 0 || chance == n*n {
		return 0, false
	}
	return (n*(a+d) - chance) / (n*n - chance), true
}
