package occlusion

import "math"

// Agreement counts how often the mouth and the casts say the same. What the casts
// leave open is counted apart and taken for neither.
type Agreement struct {
	Agree      int `json:"agree"`
	OnlyMouth  int `json:"only_mouth"`
	OnlyCasts  int `json:"only_casts"`
	Undecided  int `json:"undecided"`
	NotOnCasts int `json:"not_on_casts"`
	// Share is Agree over all that was decided.
	Share *float64 `json:"share" jsonschema_description:"share that agrees of what could be decided; null where nothing could"`
	// From and To are its 95 % interval.
	From *float64 `json:"from" jsonschema_description:"lower end of the 95 % interval of the share (Wilson's score interval)"`
	To   *float64 `json:"to" jsonschema_description:"upper end"`
	// Kappa is the agreement beyond chance.
	Kappa *float64 `json:"kappa" jsonschema_description:"agreement beyond chance (Cohen's kappa), 1 for full and 0 for none; null where it has no meaning: for marks, and where mouth or casts say the same of all teeth and agree by that alone"`

	both int // agree that there is contact
}

// add counts one comparison; mouth says whether the mouth showed contact.
func (a *Agreement) add(m Match, mouth bool) {
	switch m {
	case Agree:
		a.Agree++
		if mouth {
			a.both++
		}
	case OnlyMouth:
		a.OnlyMouth++
	case OnlyCasts:
		a.OnlyCasts++
	case Unsure:
		a.Undecided++
	case NotOnCasts:
		a.NotOnCasts++
	}
}

// sum closes the count. Kappa needs both yes and no to be counted, which marks do
// not have: pairs that nobody marked anywhere are not listed.
func (a *Agreement) sum(kappa bool) {
	n := a.Agree + a.OnlyMouth + a.OnlyCasts
	if n == 0 {
		return
	}
	share := float64(a.Agree) / float64(n)
	from, to := wilson(a.Agree, n)
	a.Share, a.From, a.To = &share, &from, &to
	if k, ok := cohen(a.both, a.OnlyMouth, a.OnlyCasts, a.Agree-a.both); ok && kappa {
		a.Kappa = &k
	}
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
