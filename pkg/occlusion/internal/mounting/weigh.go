package mounting

import (
	"slices"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
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
	m.Reasons = slices.DeleteFunc(m.Reasons, func(s findings.Sentence) bool { return s.String() == askFront && answersFront(f.Record) })
	var first []findings.Sentence
	high := false
	if g := f.Settling.Given; g != nil {
		high = g.Shape == findings.ShapeHigh
		seated := f.Settling.Pose.Pose != (kinematics.Pose{})
		if high {
			first = append(first, findings.Say("As given, %s.", g.Text))
			if g.Turn == nil {
				m.Tilt = nil // a high tooth explains the gaps
			}
			if seated {
				first = append(first, findings.Say("Seating turned the casts by %.2f° over it, so that the contacts examined do not show it.", f.Settling.Pose.Angle().Degrees()))
			}
		}
	}
	switch {
	case v == denies:
		m.Verdict = findings.Remount
	case v == confirms:
		m.Verdict, m.Tilt = findings.Acceptable, nil
	case high && (f.Settling.Given.Turn == nil || m.Verdict == findings.Acceptable):
		m.Verdict = findings.Undecided
		first = append(first, findings.Say("Whether that tooth is high or the casts stand tilted there, only the mouth tells: try it with foil."))
	}
	first = append(first, agreement(f.Record, v)...)
	m.Reasons = append(first, m.Reasons...)
}

// agreement says what the record tells of the mounting.
func agreement(r *findings.Record, v mouth) []findings.Sentence {
	if v == silent {
		return nil
	}
	a := &r.Agreement
	n := a.Agree + a.OnlyMouth + a.OnlyCasts
	switch v {
	case denies:
		return []findings.Sentence{findings.Say("Casts and mouth agree on %d of %d teeth, hardly more than by chance (kappa %.2f): the casts do not stand to each other as the teeth do.", a.Agree, n, *a.Kappa)}
	case confirms:
		return []findings.Sentence{findings.Say("Casts and mouth agree on %d of %d teeth: the casts stand to each other as the teeth do.", a.Agree, n)}
	}
	return []findings.Sentence{findings.Say("Casts and mouth agree on %d of %d teeth, which decides nothing.", a.Agree, n)}
}

// answersFront says whether the record tells of front teeth.
func answersFront(r *findings.Record) bool {
	if r == nil {
		return false
	}
	return slices.ContainsFunc(r.Teeth, func(t findings.RecordTooth) bool {
		return dentition.ToothID(t.Tooth).Type().Anterior() && t.Mouth != casefile.Hold("")
	})
}
