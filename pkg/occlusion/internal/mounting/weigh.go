package mounting

import (
	"slices"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// The mouth's record: from how many compared teeth on it speaks, and overrules the areas,
// our choice; and the agreement beyond chance up to which it is slight, and from which on
// substantial (Landis and Koch 1977, Biometrics 33:159-174).
const (
	speaks      = 5
	overrules   = 8
	slight      = 0.20
	substantial = 0.61
)

// rockedDeg is the turn from which it is said that seating rocked the casts over a high
// tooth; our choice: 0.01° is 5 µm at the molars.
const rockedDeg = 0.01

// mouth is what the record says of the mounting.
type mouth int

const (
	silent mouth = iota
	between
	confirms
	denies
)

// voice weighs how mouth and casts agree.
func voice(r *findings.Record) mouth {
	if r == nil {
		return silent
	}
	a := &r.Agreement
	n := a.Agree + a.OnlyMouth + a.OnlyCasts
	switch {
	case n < speaks:
		return silent
	case a.Kappa == nil && a.Agree == n, a.Kappa != nil && *a.Kappa >= substantial:
		return confirms
	case a.Kappa != nil && *a.Kappa <= slight && n >= overrules:
		return denies
	}
	return between
}

// Weigh lets the given relation and the mouth's record speak to the verdict that the areas
// of contact gave, and says so in reasons before theirs. docs/findings.md has the table of
// what leads to what.
func Weigh(f *findings.Findings) {
	m := &f.Centric.Mounting
	v := voice(f.Record)
	m.Reasons = slices.DeleteFunc(m.Reasons, func(s findings.Sentence) bool { return s.Key() == askFront && answersFront(f.Record) })
	var first []findings.Sentence
	high, displaced := false, false
	if g := f.Settling.Given; g != nil {
		high = g.Shape == findings.ShapeHigh
		if high {
			first = append(first, language.Say("weigh.given", language.With{"given": g.Text}))
			if g.Turn == nil {
				m.Tilt = nil // a high tooth explains the gaps
			}
			if f.Settling.Pose.Angle().Degrees() >= rockedDeg && g.Displaced == nil { // mutants: same, a measured turn never is the border
				first = append(first, language.Say("weigh.seated", language.With{"deg": f.Settling.Pose.Angle().Degrees()}))
			}
		}
	}
	if g := f.Settling.Given; g != nil && g.Displaced != nil {
		if !high {
			first = append(first, language.Say("weigh.given", language.With{"given": g.Text}))
		}
		if s := f.Settling.Seat; s != nil && s.Taken {
			first = append(first, language.Say("weigh.brought"))
		} else {
			displaced = true
			first = append(first, language.Say("weigh.stands"))
		}
	}
	loose := false
	if s := f.Settling.Seat; s != nil && s.DoubtUm > casefile.Default().Settle.DoubtUm {
		loose = true
		first = append(first, language.Say("weigh.relation", language.With{"um": s.DoubtUm}))
	}
	alone := openAreas(f)
	switch {
	case v == denies:
		m.Verdict = findings.Remount
	case v == confirms && len(alone) > 0:
		m.Verdict, m.Tilt = findings.Undecided, nil
	case v == confirms:
		m.Verdict, m.Tilt = findings.Acceptable, nil
	case loose:
		m.Verdict = findings.Undecided
	case displaced && m.Verdict == findings.Acceptable:
		m.Verdict = findings.Undecided
	case high && (f.Settling.Given.Turn == nil || m.Verdict == findings.Acceptable):
		m.Verdict = findings.Undecided
		first = append(first, language.Say("weigh.mouth"))
	}
	if high || v == confirms {
		// The staircase or the mouth has told what it is that alone is in contact.
		m.Reasons = slices.DeleteFunc(m.Reasons, func(s findings.Sentence) bool { return s.Key() == onlyPair })
	}
	first = append(first, agreement(f.Record, v, alone)...)
	m.Reasons = append(first, m.Reasons...)
}

// agreement says what the record tells of the mounting; alone are the areas that are open on the
// casts alone.
func agreement(r *findings.Record, v mouth, alone []findings.Sentence) []findings.Sentence {
	if v == silent {
		return nil
	}
	a := &r.Agreement
	n := a.Agree + a.OnlyMouth + a.OnlyCasts
	with := language.With{"agree": a.Agree, "all": n, "kappa": a.Kappa}
	switch {
	case v == denies:
		return []findings.Sentence{language.Say("weigh.denies", with)}
	case v == confirms && len(alone) > 0:
		with["areas"] = language.And(alone)
		return []findings.Sentence{language.Say("weigh.alone", with)}
	case v == confirms:
		return []findings.Sentence{language.Say("weigh.confirms", with)}
	}
	return []findings.Sentence{language.Say("weigh.open", with)}
}

// answersFront says whether the record tells of anterior teeth.
func answersFront(r *findings.Record) bool {
	if r == nil {
		return false
	}
	return slices.ContainsFunc(r.Teeth, func(t findings.RecordTooth) bool {
		return t.Tooth.Tooth().Type().Anterior() && t.Mouth != casefile.Hold("")
	})
}
