package words

import (
	"cmp"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// Notation says how a report names teeth.
func Notation(n dentition.Notation) language.Sentence {
	switch n {
	case dentition.Universal:
		return language.Say("notation.universal")
	case dentition.Quadrant:
		return language.Say("notation.quadrant")
	}
	return language.Say("notation.iso")
}

// RoomFile is the file of the room over a tooth.
func RoomFile(t dentition.ToothID) string { return "room-" + t.String() + ".ply" }

// Mounting says how the casts are mounted.
func Mounting(f *findings.Findings) language.Sentence {
	switch {
	case f.Mount.How == "recorded":
		return language.Say("mounting.recorded")
	case f.Mount.How == "matrix":
		return language.Say("mounting.matrix")
	case f.Mount.PointsFound && f.Scans.Lower.Labels == findings.FromShape:
		return language.Say("mounting.found.shape")
	case f.Mount.PointsFound:
		return language.Say("mounting.found")
	}
	return language.Say("mounting.given")
}

// Settings tell the settings of both condyles and to which plane they are.
func Settings(f *findings.Findings) language.Sentence {
	side := func(inclination, angle, shift float64) language.Sentence {
		with := language.With{"inclination": inclination, "angle": angle}
		if shift > 0 {
			with["shift"] = shift
		}
		return language.Say("settings.side", with)
	}
	right, left := &f.Settings.Right, &f.Settings.Left
	return language.Say("settings.line", language.With{
		"distance": f.Settings.IntercondylarMM, "plane": language.Say("plane." + string(f.Settings.ReferencePlane)),
		"right": side(right.CondylarInclinationDeg, right.SideShiftAngleDeg, right.ImmediateSideShiftMM),
		"left":  side(left.CondylarInclinationDeg, left.SideShiftAngleDeg, left.ImmediateSideShiftMM),
	})
}

// Relation says how the casts stand to each other.
func Relation(f *findings.Findings) language.Sentence {
	how := language.Say("relation.scanned")
	switch f.Settling.How {
	case "seat":
		how = language.Say("relation.seated", language.With{"um": f.Settling.MovedUm})
	case "lift":
		if f.Settling.MovedUm >= 0.5 {
			how = language.Say("relation.lifted", language.With{"um": f.Settling.MovedUm})
		}
	}
	if u := f.Settling.LargestOverlapUm; u >= 0.5 {
		return language.Say("relation.overlap", language.With{"how": how, "um": u})
	}
	return language.Say("relation.apart", language.With{"how": how})
}

// heldOpenDeg is the opening, in degrees, from which a first contact is said to keep
// the casts open; what is less is closed.
const heldOpenDeg = 0.005

// Closed says how far the casts close on the hinge axis, and where they touch then.
func Closed(f *findings.Findings) language.Sentence {
	c := &f.Centric
	closed := language.Say("closed.given")
	switch {
	case c.OpeningDeg < -heldOpenDeg:
		closed = language.Say("closed.beyond", language.With{"deg": -c.OpeningDeg})
	case c.OpeningDeg > heldOpenDeg && len(c.Contacts) > 0:
		x := slices.MinFunc(c.Contacts, func(a, b findings.Contact) int { return cmp.Compare(a.GapUm, b.GapUm) })
		with := language.With{"there": opens(c.OpeningDeg, x.PointMM)}
		if p := f.Mount.IncisalPointMM; p != nil {
			with["front"] = opens(c.OpeningDeg, *p)
		}
		closed = language.Say("closed.place", with)
		if x.Upper != 0 || x.Lower != 0 {
			with["pair"] = findings.Pair{Upper: x.Upper, Lower: x.Lower}
			closed = language.Say("closed.pair", with)
		}
	}
	if len(c.Contacts) == 0 {
		return language.Say("closed.none", language.With{"closed": closed})
	}
	contacts := nearPairs(c.Contacts)
	if !Labelled(f) {
		contacts = Count(c.Contacts)
	}
	return language.Say("closed.contacts", language.With{"closed": closed, "contacts": contacts})
}

// opens is by how much an opening (degrees) about the hinge axis parts the casts at a
// point of the articulator frame, mm.
func opens(deg float64, p findings.Vec) float64 { return deg * math.Pi / 180 * math.Hypot(p[1], p[2]) }

// BySeverity lists the findings, most important first, without what
// is as usual.
func BySeverity(f *findings.Findings) []*findings.Finding { return sorted(f, false) }

// Normal lists what is as usual in the movements.
func Normal(f *findings.Findings) []*findings.Finding { return sorted(f, true) }

func sorted(f *findings.Findings, normal bool) []*findings.Finding {
	var out []*findings.Finding
	for k := range f.Centric.Findings {
		if g := &f.Centric.Findings[k]; usual(g) == normal {
			out = append(out, g)
		}
	}
	for i := range f.Excursions {
		for k := range f.Excursions[i].Findings {
			if g := &f.Excursions[i].Findings[k]; usual(g) == normal {
				out = append(out, g)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b *findings.Finding) int { return cmp.Compare(a.Severity, b.Severity) })
	return out
}

// usual says whether a finding is guidance as it should be.
func usual(g *findings.Finding) bool {
	return g.Kind == findings.KindGuidance &&
		(g.Pattern == findings.CanineGuidance || g.Pattern == findings.GroupFunction || g.Pattern == findings.AnteriorGuidance)
}

// Finding is the text of a finding, and whether it stays under other settings.
// What the scans cannot tell is not called robust.
func Finding(g *findings.Finding) language.Sentence {
	with := language.With{"text": g.Text}
	if !g.Doubtful {
		with["robustness"] = g.Robustness.Sentence()
	}
	if g.Probability != nil {
		with["sure"] = g.Probability.Text
	}
	return language.Say("findings.text", with)
}

// Brief is a finding in a few words; its teeth stand beside it.
func Brief(g *findings.Finding, m findings.Movement) language.Sentence {
	with := language.With{"what": language.Say("kind." + string(g.Kind))}
	if g.Kind == findings.KindGuidance {
		return language.Say("brief.guidance", language.With{"pattern": Pattern(g.Pattern),
			"movement": findings.NameMovement(m)})
	}
	if m != "" && m != findings.Protrusive { // which its kinds name
		with["movement"] = findings.NameMovement(m)
	}
	if m != "" {
		with["span"] = findings.Span(g.FromMM, g.ToMM)
	}
	switch {
	case g.HeightUm == nil || g.PastEdge:
	case g.Kind == findings.KindPremature:
		with["height"] = language.Say("brief.high", language.With{"um": *g.HeightUm})
	default:
		with["height"] = language.Say("brief.way", language.With{"um": *g.HeightUm})
	}
	if g.Doubtful {
		with["note"] = language.Say("brief.doubt")
	} else if g.PastEdge {
		with["note"] = language.Say("restore.beyond")
	}
	return language.Say("brief.line", with)
}

// Verdict says whether the mounting can be trusted.
func Verdict(v findings.Verdict) language.Sentence { return language.Say("verdict." + string(v)) }

// Labelled says whether any tooth is known.
func Labelled(f *findings.Findings) bool {
	return len(f.Scans.Upper.Teeth)+len(f.Scans.Lower.Teeth) > 0
}

// MovementTitle is the heading of a movement.
func MovementTitle(movement findings.Movement) language.Sentence {
	return language.Say("movement.title." + string(movement))
}

// Reasons are what a verdict on the mounting rests on.
func Reasons(m *findings.Mounting) []language.Sentence {
	out := slices.Clone(m.Reasons)
	if m.Tilt != nil {
		out = append(out, m.Tilt.Text)
	}
	return out
}

// Tried says whether any of some findings was tried with other settings.
func Tried(list []*findings.Finding) bool {
	return slices.ContainsFunc(list, func(g *findings.Finding) bool { return g.Robustness.State != findings.NotTried })
}
