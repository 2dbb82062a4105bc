package findings

import (
	"github.com/cusptrace/cusptrace/pkg/language"
)

// Probability is how likely a finding is, over mountings as likely as the one that was
// examined: samples of what may be wrong with settings, mounting, registration and scans
// ([Doubt]).
type Probability struct {
	// share of the samples in which the same kind of finding stands at the same pair of teeth
	// within 0.5 mm of travel, 0 to 1
	Share float64 `json:"share"`
	// how many samples
	Samples int `json:"samples"`
	// share of the samples in which the pair carries the movement there; null for findings that are
	// no contact
	CarriesShare *float64 `json:"carries_share"`
	// share of those in which it touches without carrying; null for the same
	TouchesShare *float64 `json:"touches_share"`
	// the height over the samples in which the finding stands; null for findings without a height
	// and where it stands in none
	HeightUm *Spread `json:"height_um"`
	// the source that the finding depends on most: the largest share of its variance (squared
	// correlation); absent where none explains a tenth of it
	Mostly DoubtSource `json:"mostly,omitempty"`
	// share of the variance that this source explains; null without one
	MostlyShare *float64 `json:"mostly_share"`
	// the same in one sentence
	Text Sentence `json:"text"`
}

// Spread is the middle and the 80 % range of a number over samples.
type Spread struct {
	// a tenth of the samples lie below
	P10 float64 `json:"p10"`
	// half of them do
	P50 float64 `json:"p50"`
	// nine tenths do
	P90 float64 `json:"p90"`
}

// Doubt is what was taken to be uncertain.
type Doubt struct {
	// how many samples were examined
	Samples int `json:"samples"`
	// number that tells one draw of samples from another
	Seed int `json:"seed"`
	// what may be wrong and by how much
	Sources []DoubtedSource `json:"sources"`
	// what no sampling knows, in words: how far casts in the best mounting agree with the mouth
	Text Sentence `json:"text"`
}

// DoubtedSource is one source of error with its size.
type DoubtedSource struct {
	// what may be wrong
	Source DoubtSource `json:"source"`
	// standard deviation, of a scan the average shift of one end of the arch where it is aligned at
	// the other
	Size float64 `json:"size"`
	// unit of the size
	Unit string `json:"unit" jsonschema:"enum=deg,enum=mm,enum=um"`
	// where the size comes from
	From DoubtFrom `json:"from" jsonschema:"enum=mean_values,enum=recorded,enum=by_hand,enum=stated,enum=repeated_scans,enum=usual"`
}

// DoubtSource names what may be wrong.
type DoubtSource string

// The sources.
const (
	DoubtInclinationRight DoubtSource = "condylar_inclination_right"
	DoubtInclinationLeft  DoubtSource = "condylar_inclination_left"
	DoubtShiftRight       DoubtSource = "side_shift_right"
	DoubtShiftLeft        DoubtSource = "side_shift_left"
	DoubtIntercondylar    DoubtSource = "intercondylar_distance"
	DoubtAxis             DoubtSource = "axis"
	DoubtPlane            DoubtSource = "plane"
	DoubtRegistration     DoubtSource = "registration"
	DoubtUpperScan        DoubtSource = "upper_scan"
	DoubtLowerScan        DoubtSource = "lower_scan"
	DoubtSeating          DoubtSource = "seating"
)

// DoubtFrom says where the size of a source comes from.
type DoubtFrom string

// Where sizes come from: mean values, a record, casts put together by hand, the case file,
// further scans of the arch, or what is usual.
const (
	FromMean   DoubtFrom = "mean_values"
	FromRecord DoubtFrom = "recorded"
	FromHand   DoubtFrom = "by_hand"
	FromCase   DoubtFrom = "stated"
	FromScans  DoubtFrom = "repeated_scans"
	FromUsual  DoubtFrom = "usual"
)

// Tenths is a share as a whole number of ten.
func Tenths(share float64) int { return int(10*share + 0.5) }

// Likelihood is the class of a share, a stable word: `sure` (9 of 10 and more), `likely` (6 to
// 8), `open` (3 to 5), `unlikely`.
func Likelihood(share float64) string {
	switch n := Tenths(share); {
	case n >= 9:
		return "sure"
	case n >= 6:
		return "likely"
	case n >= 3:
		return "open"
	}
	return "unlikely"
}

// Words puts a probability into one sentence.
func (p *Probability) Words() Sentence {
	with := language.With{"class": language.Say("sure.class." + Likelihood(p.Share)), "share": ShareWords(p.Share)}
	if p.Mostly != "" {
		with["mostly"] = language.Say("sure.mostly." + string(p.Mostly))
	}
	if h := p.HeightUm; h != nil {
		with["low"], with["high"] = h.P10, h.P90
	}
	return language.Say("sure.finding", with)
}

// ShareWords puts a share into a natural frequency, out of ten: more digits than samples
// and sources bear would pretend.
func ShareWords(share float64) Sentence {
	switch n := Tenths(share); {
	case n >= 9:
		return language.Say("sure.share.most")
	case n == 0:
		return language.Say("sure.share.none")
	default:
		return language.Say("sure.share", language.With{"tenths": n})
	}
}
