package occlusion

import "github.com/cusptrace/cusptrace/pkg/casefile"

// HoldClass is what a foil would do between a tooth and its opponents.
type HoldClass string

// The classes. Undecided is a tooth that the casts show to be just out of
// contact, by no more than the scans can tell.
const (
	ClassHolds     HoldClass = "holds"
	ClassDrags     HoldClass = "light_drag"
	ClassUndecided HoldClass = "undecided"
	ClassPasses    HoldClass = "passes"
)

// classify is the class of a gap in µm.
// What touches on the casts is said to hold: casts that meet somewhere meet
// there. What does not may still do so in the mouth.
func classify(gapUm float64, t *casefile.Thresholds) HoldClass {
	switch {
	case gapUm <= t.HoldsUm:
		return ClassHolds
	case gapUm <= t.DragsUm:
		return ClassDrags
	case gapUm-t.ScanDoubtUm <= t.DragsUm:
		return ClassUndecided
	}
	return ClassPasses
}
