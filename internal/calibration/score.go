package main

import (
	"fmt"
	"io"
	"maps"
	"math"
	"math/rand/v2"
	"slices"

	"github.com/cusptrace/cusptrace/internal/portable"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// forecast is one probability that was said and what was true.
type forecast struct {
	Dentition int // findings of one dentition hang together
	What      findings.Kind
	P         float64
	Stands    bool
	// Where the finding stands and has a height: in which part of the said distribution the true
	// one lies, below p10, to p50, to p90, above; −1 for none.
	Part int
}

// Of the scores, the lines within which they pass (trust of a forecast for that number of
// findings): the slope, and Spiegelhalter's z, 95 % of which lie within ±1.96.
const (
	slopeLeast, slopeMost = 0.85, 1.15
	zMost                 = 1.96
	sureAbove             = 0.9
	sureTrue              = 0.88 // of the findings called 9 of 10 and more
	heavyTrue             = 0.85 // the same where truth errs more than was assumed
)

// score is how good forecasts are.
type score struct {
	n, dentitions           int
	brier, reliability      float64 // mean squared error; its part that is miscalibration
	resolution, base        float64
	ece, eceLine            float64 // expected calibration error, and 95 % of perfect forecasters lie below the line
	slope, slopeLo, slopeHi float64 // of the logistic regression of truth on the logit of p, 95 % by dentitions
	z                       float64 // Spiegelhalter
	sure, sureTrue          int
	bins                    [10]bin
	parts                   [4]int
	kinds                   map[findings.Kind]*bin
}

// bin is forecasts of about the same probability.
type bin struct {
	n    int
	p    float64 // sum
	true float64
}

// judge scores forecasts; least is half a sample, to which 0 and 1 are moved.
func judge(f []forecast, least float64, rng *rand.Rand) score {
	s := score{n: len(f), kinds: map[findings.Kind]*bin{}}
	seen := map[int]bool{}
	for i := range f {
		x := &f[i]
		seen[x.Dentition] = true
		y := truth(x)
		s.brier += (x.P - y) * (x.P - y) / float64(len(f))
		s.base += y / float64(len(f))
		b := &s.bins[min(int(x.P*10), 9)]
		b.n++
		b.p += x.P
		b.true += y
		k := s.kinds[x.What]
		if k == nil {
			k = &bin{}
			s.kinds[x.What] = k
		}
		k.n, k.p, k.true = k.n+1, k.p+x.P, k.true+y
		if x.P >= sureAbove {
			s.sure++
			if x.Stands {
				s.sureTrue++
			}
		}
		if x.Part >= 0 {
			s.parts[x.Part]++
		}
	}
	s.dentitions = len(seen)
	for _, b := range s.bins {
		if b.n > 0 {
			n := float64(b.n)
			d := (b.p - b.true) / n
			s.reliability += n / float64(len(f)) * d * d
			r := b.true/n - s.base
			s.resolution += n / float64(len(f)) * r * r
		}
	}
	s.ece = ece(f)
	s.eceLine = perfectECE(f, rng)
	s.z = spiegelhalter(f)
	s.slope = slope(f, least)
	s.slopeLo, s.slopeHi = slopeInterval(f, least, rng)
	return s
}

func truth(f *forecast) float64 {
	if f.Stands {
		return 1
	}
	return 0
}

// ece is the mean distance between what was said and what was true, over ten bins.
func ece(f []forecast) float64 {
	var bins [10]bin
	for i := range f {
		b := &bins[min(int(f[i].P*10), 9)]
		b.n++
		b.p += f[i].P
		b.true += truth(&f[i])
	}
	sum := 0.0
	for _, b := range bins {
		sum += math.Abs(b.p-b.true) / float64(len(f))
	}
	return sum
}

// perfectECE is the error below which 95 % of perfect forecasters stay who say the same
// numbers: the expected calibration error of few forecasts is never 0.
func perfectECE(f []forecast, rng *rand.Rand) float64 {
	out := make([]float64, 200)
	g := slices.Clone(f)
	for k := range out {
		for i := range g {
			g[i].Stands = rng.Float64() < g[i].P
		}
		out[k] = ece(g)
	}
	slices.Sort(out)
	return out[len(out)*95/100]
}

// spiegelhalter is the z of D. J. Spiegelhalter 1986, Stat Med 5:421-433: within ±1.96 for
// 95 % of calibrated forecasters (of independent findings).
func spiegelhalter(f []forecast) float64 {
	sum, sq := 0.0, 0.0
	for i := range f {
		p := f[i].P
		sum += (truth(&f[i]) - p) * (1 - 2*p)
		sq += (1 - 2*p) * (1 - 2*p) * p * (1 - p)
	}
	if sq == 0 {
		return 0
	}
	return sum / math.Sqrt(sq)
}

func logit(p, least float64) float64 {
	p = min(max(p, least), 1-least)
	return portable.Log(p / (1 - p))
}

// slope is that of the logistic regression of truth on the logit of the forecast: 1 where
// they are as sure as they should be, below where they are too sure.
func slope(f []forecast, least float64) float64 {
	// Newton's steps from where nothing follows from the forecast: from there they do not
	// overshoot.
	a, b := 0.0, 0.0
	for range 30 {
		var ga, gb, haa, hab, hbb float64
		for i := range f {
			x := logit(f[i].P, least)
			q := 1 / (1 + portable.Exp(-(a + b*x)))
			w := max(q*(1-q), 1e-9)
			d := truth(&f[i]) - q
			ga, gb = ga+d, gb+d*x
			haa, hab, hbb = haa+w, hab+w*x, hbb+w*x*x
		}
		det := haa*hbb - hab*hab
		if !(det > 1e-12) {
			return math.NaN()
		}
		da, db := (hbb*ga-hab*gb)/det, (haa*gb-hab*ga)/det
		if n := max(math.Abs(da), math.Abs(db)); n > 2 {
			da, db = 2*da/n, 2*db/n
		}
		a, b = a+da, b+db
		if math.Abs(da)+math.Abs(db) < 1e-7 {
			break
		}
	}
	return b
}

// slopeInterval is the 95 % range of the slope when dentitions are drawn anew: their findings
// hang together.
func slopeInterval(f []forecast, least float64, rng *rand.Rand) (lo, hi float64) {
	by := map[int][]forecast{}
	var keys []int
	for _, x := range f {
		if by[x.Dentition] == nil {
			keys = append(keys, x.Dentition)
		}
		by[x.Dentition] = append(by[x.Dentition], x)
	}
	var out []float64
	for range 100 {
		var g []forecast
		for range keys {
			g = append(g, by[keys[rng.IntN(len(keys))]]...)
		}
		if s := slope(g, least); !math.IsNaN(s) {
			out = append(out, s)
		}
	}
	if len(out) == 0 {
		return math.NaN(), math.NaN()
	}
	slices.Sort(out)
	return out[len(out)*25/1000], out[min(len(out)*975/1000, len(out)-1)]
}

// faults lists what does not pass for the number of findings there are. Heavier says that truth
// was drawn from heavier errors than were assumed.
func (s *score) faults(heavier bool) []string {
	var out []string
	add := func(bad bool, format string, args ...any) {
		if bad {
			out = append(out, fmt.Sprintf(format, args...))
		}
	}
	// What is true of so few could be so by chance up to a standard error and a half.
	share := float64(s.sureTrue) / max(1, float64(s.sure))
	want := sureTrue
	if heavier {
		want = heavyTrue
	}
	add(s.sure > 0 && share < want, "of %d called 9 of 10 and more %.3f are true, must be %.2f", s.sure, share, want)
	if heavier {
		return out
	}
	// The interval must allow the range, and the range must hold the slope.
	add(math.IsNaN(s.slope) || s.slope < slopeLeast || s.slope > slopeMost,
		"the slope is %.2f, must be %.2f to %.2f", s.slope, slopeLeast, slopeMost)
	add(s.slopeLo > slopeMost || s.slopeHi < slopeLeast, "the slope's interval is %.2f to %.2f", s.slopeLo, s.slopeHi)
	add(math.Abs(s.z) >= zMost, "Spiegelhalter's z is %.2f, must be within ±%.2f", s.z, zMost)
	add(s.ece > s.eceLine, "the calibration error is %.3f; 95 %% of perfect forecasters stay below %.3f", s.ece, s.eceLine)
	return out
}

// write prints the score.
func (s *score) write(w io.Writer) {
	fmt.Fprintf(w, "findings %d, dentitions %d, true %.3f\n", s.n, s.dentitions, s.base)
	fmt.Fprintf(w, "Brier %.4f = reliability %.4f − resolution %.4f + uncertainty %.4f (and what lies within the bins)\n",
		s.brier, s.reliability, s.resolution, s.base*(1-s.base))
	fmt.Fprintf(w, "calibration error %.3f (95 %% of perfect forecasters below %.3f)\n", s.ece, s.eceLine)
	fmt.Fprintf(w, "slope %.2f (95 %% by dentitions %.2f to %.2f), Spiegelhalter z %.2f\n", s.slope, s.slopeLo, s.slopeHi, s.z)
	fmt.Fprintf(w, "called 9 of 10 and more: %d, true %d (%.3f)\n", s.sure, s.sureTrue, float64(s.sureTrue)/max(1, float64(s.sure)))
	fmt.Fprintln(w, "\nsaid         n     mean said  true")
	for i, b := range s.bins {
		if b.n > 0 {
			fmt.Fprintf(w, "%.1f to %.1f  %4d     %.3f      %.3f\n", float64(i)/10, float64(i+1)/10, b.n, b.p/float64(b.n), b.true/float64(b.n))
		}
	}
	fmt.Fprintln(w, "\nkind                         n     mean said  true")
	for _, k := range slices.Sorted(maps.Keys(s.kinds)) {
		b := s.kinds[k]
		fmt.Fprintf(w, "%-27s %4d     %.3f      %.3f\n", k, b.n, b.p/float64(b.n), b.true/float64(b.n))
	}
	n := 0
	for _, k := range s.parts {
		n += k
	}
	if n > 0 {
		chi := 0.0
		for i, k := range s.parts {
			want := [4]float64{0.1, 0.4, 0.4, 0.1}[i] * float64(n)
			chi += (float64(k) - want) * (float64(k) - want) / want
		}
		fmt.Fprintf(w, "\ntrue heights below p10 %d, to p50 %d, to p90 %d, above %d of %d; chi-squared %.1f (3 degrees, 1 %% above 11.3)\n",
			s.parts[0], s.parts[1], s.parts[2], s.parts[3], n, chi)
	}
}
