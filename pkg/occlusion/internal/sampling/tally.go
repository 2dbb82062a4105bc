package sampling

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// mostlyLeast is the share of a finding's variance that one source must explain to be named;
// our choice.
const mostlyLeast = 0.1

// heightsLeast is the fewest samples with a height of which a source is sought; our choice.
const heightsLeast = 20

// tally counts the samples into the findings.
func (r *run) tally(plain *result, results []*result) {
	n := len(results)
	f := r.f
	f.Doubt = &findings.Doubt{Samples: n, Seed: int(r.e.Case.Doubt.Seed), Sources: r.src.listed, Text: language.Say("sure.beside")}
	for i, w := range r.watches {
		if plain.outcomes[i].stands {
			w.f.Probability = probability(w.f.Kind, results, func(s *result) *outcome { return &s.outcomes[i] })
		}
	}
	if r.now == nil {
		return
	}
	for i := range f.Centric.Findings {
		// Where casts lock elsewhere than they were given, premature contacts are told there.
		if plain.premature[i].stands && f.Settling.Given.Displaced == nil {
			f.Centric.Findings[i].Probability = probability(findings.KindPremature, results, func(s *result) *outcome { return &s.premature[i] })
		}
	}
	count := func(is func(*result) bool) *float64 {
		k := 0
		for _, s := range results {
			if is(s) {
				k++
			}
		}
		share := float64(k) / float64(n)
		return &share
	}
	for i := range f.Centric.Teeth {
		k := slices.IndexFunc(r.teeth, func(t facingTooth) bool { return t.tooth == f.Centric.Teeth[i].Tooth.Tooth() })
		if k >= 0 {
			f.Centric.Teeth[i].HoldsShare = count(func(s *result) bool { return k < len(s.holds) && s.holds[k] })
		}
	}
	f.Centric.Mounting.AcceptableShare = count(func(s *result) bool { return s.accepted })
	first := func(steps []findings.Step, of int) {
		for i := range steps {
			p := pairOf{steps[i].Upper.Tooth(), steps[i].Lower.Tooth()}
			steps[i].FirstShare = count(func(s *result) bool { return s.firsts[of] == p })
		}
	}
	first(f.Centric.Staircase, 1)
	if g := f.Settling.Given; g != nil {
		first(g.Staircase, 0)
	}
	for i, p := range r.paths {
		for k, t := range p.stations {
			var openings, drops []float64
			for _, s := range results {
				if p := s.paths[i][k]; p.ok {
					openings, drops = append(openings, p.opening), append(drops, p.drop)
				}
			}
			if len(drops) > n/2 {
				f.Excursions[i].Spread = append(f.Excursions[i].Spread,
					findings.PathSpread{TravelMM: t, OpeningDeg: quantiles(openings), DropMM: quantiles(drops)})
			}
		}
	}
}

// probability counts the samples of one finding.
func probability(kind findings.Kind, results []*result, of func(*result) *outcome) *findings.Probability {
	n := float64(len(results))
	p := &findings.Probability{Samples: len(results)}
	var carries, touches float64
	var heights []float64
	for _, s := range results {
		o := of(s)
		if o.stands {
			p.Share += 1 / n
			if !math.IsNaN(o.height) {
				heights = append(heights, o.height)
			}
		}
		if o.carries {
			carries += 1 / n
		}
		if o.touches {
			touches += 1 / n
		}
	}
	p.Share = min(1, p.Share)
	if contactKind(kind) {
		carries, touches = min(1, carries), min(1, touches)
		p.CarriesShare, p.TouchesShare = &carries, &touches
	}
	if len(heights) > 0 {
		q := quantiles(heights)
		p.HeightUm = &q
	}
	p.Mostly, p.MostlyShare = mostly(p.Share, results, of)
	p.Text = p.Words()
	return p
}

// mostly is the source that explains most of a finding: whether it stands, or its height
// where it always or never does.
func mostly(share float64, results []*result, of func(*result) *outcome) (findings.DoubtSource, *float64) {
	var y []float64
	var z []*[factors]float64
	for _, s := range results {
		o := of(s)
		v := 0.0
		switch {
		case share > 0 && share < 1:
			if o.stands {
				v = 1
			}
		case !o.stands || math.IsNaN(o.height):
			continue
		default:
			v = o.height
		}
		y, z = append(y, v), append(z, &s.z)
	}
	if len(y) < heightsLeast {
		return "", nil
	}
	best, name := mostlyLeast, findings.DoubtSource("")
	for _, s := range sources {
		if share := explained(y, z, s.at); share >= best {
			best, name = share, s.source
		}
	}
	if name == "" {
		return "", nil
	}
	return name, &best
}

// explained is the share of the variance of y that factors explain by themselves: the sum of
// the squared correlations, less what chance alone brings about, one in the number of samples
// for each factor.
func explained(y []float64, z []*[factors]float64, at []int) float64 {
	n := float64(len(y))
	mean := 0.0
	for _, v := range y {
		mean += v / n
	}
	sum := 0.0
	for _, k := range at {
		var zm, zz, yy, zy float64
		for _, x := range z {
			zm += x[k] / n
		}
		for i, x := range z {
			a, b := x[k]-zm, y[i]-mean
			zz, yy, zy = zz+a*a, yy+b*b, zy+a*b
		}
		if zz > 0 && yy > 0 {
			sum += zy*zy/(zz*yy) - 1/n
		}
	}
	return sum
}

// quantiles is the middle and the 80 % range of some numbers, between neighbours as far as
// their places say.
func quantiles(x []float64) findings.Spread {
	x = slices.Clone(x)
	slices.Sort(x)
	at := func(p float64) float64 {
		h := p * float64(len(x)-1)
		i := min(int(h), len(x)-1)
		return x[i] + (h-float64(i))*(x[min(i+1, len(x)-1)]-x[i])
	}
	return findings.Spread{P10: at(0.1), P50: at(0.5), P90: at(0.9)}
}
