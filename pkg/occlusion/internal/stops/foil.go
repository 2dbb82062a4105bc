package stops

import (
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// Classify is the class of a gap in µm.
// What touches on the casts is said to hold: casts that meet somewhere meet
// there. What does not may still do so in the mouth.
func Classify(gapUm float64, t *casefile.Thresholds) findings.HoldClass {
	switch {
	case gapUm <= t.HoldsUm:
		return findings.ClassHolds
	case gapUm <= t.DragsUm:
		return findings.ClassDrags
	case gapUm-t.ScanDoubtUm <= t.DragsUm:
		return findings.ClassUndecided
	}
	return findings.ClassPasses
}
