// Package words says what the summary and the page say alike.
package words

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// CodeWords say how a report names teeth.
func CodeWords(n dentition.Notation) string {
	switch n {
	case dentition.Universal:
		return "numbers from 1 to 32, deciduous teeth A to T"
	case dentition.Quadrant:
		return "positions with the corner of their quadrant"
	}
	return "codes of ISO 3950"
}

// RoomFile is the file of the room over a tooth.
func RoomFile(t dentition.ToothID) string { return "room-" + t.String() + ".ply" }

// Caution is said wherever findings are read.
const Caution = "An aid to examination, not a diagnosis: the licensed clinician decides. Tooth reduction cannot be undone. Local rules apply."

// Mounting says how the casts are mounted.
func Mounting(f *findings.Findings) string {
	switch f.Mount.How {
	case "recorded":
		return "recorded hinge axis"
	case "matrix":
		return "by a given matrix"
	}
	if f.Mount.PointsFound {
		return "average values, points found on the labelled lower arch"
	}
	return "average values, points as given"
}

// SideWords tell the settings of a condyle: inclination h and side shift angle b in
// degrees, immediate side shift s in mm.
func SideWords(h, b, s float64) string {
	t := fmt.Sprintf("condylar inclination %.4g°, side shift angle %.4g°", h, b)
	if s > 0 {
		t += fmt.Sprintf(", immediate side shift %.4g mm", s)
	}
	return t
}

// Relation says how the casts stand to each other.
func Relation(f *findings.Findings) string {
	s := "as scanned"
	switch how := f.Settling.How; {
	case how == "rest":
		s = fmt.Sprintf("pressed together until they lock, moved by %.0f µm", f.Settling.MovedUm)
	case how == "lift" && f.Settling.MovedUm >= 0.5:
		s = fmt.Sprintf("lifted out of their overlap by %.0f µm", f.Settling.MovedUm)
	}
	if u := f.Settling.LargestOverlapUm; u >= 0.5 {
		return s + fmt.Sprintf("; the surfaces overlap by up to %.0f µm", u)
	}
	return s + "; the surfaces do not overlap"
}

// AtRest says how far the casts close, and where they touch then.
func AtRest(f *findings.Findings) string {
	c := &f.Centric
	s := fmt.Sprintf("closes on the hinge to %+.3f°", math.Round(1000*c.OpeningDeg)/1000+0) // + 0: no minus before a zero
	if c.OpeningDeg > 0.005 {
		s += " (held open)"
	}
	switch {
	case len(c.Contacts) == 0:
	case !Labelled(f):
		s += ", contact in " + Places(c.Contacts)
	default:
		s += ", contact " + nearPairs(f.Notation, c.Contacts)
	}
	return s
}

// BySeverity lists the findings of all movements, most important first.
func BySeverity(f *findings.Findings) []*findings.Finding {
	var all []*findings.Finding
	for i := range f.Excursions {
		for k := range f.Excursions[i].Findings {
			all = append(all, &f.Excursions[i].Findings[k])
		}
	}
	slices.SortStableFunc(all, func(a, b *findings.Finding) int { return cmp.Compare(a.Severity, b.Severity) })
	return all
}

// VerdictWords say whether the mounting can be trusted.
func VerdictWords(v findings.Verdict) string {
	if v == findings.Remount {
		return "not acceptable, remount"
	}
	return string(v)
}

// Labelled says whether any tooth is known.
func Labelled(f *findings.Findings) bool {
	return len(f.Scans.Upper.Teeth)+len(f.Scans.Lower.Teeth) > 0
}
