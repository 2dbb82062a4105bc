package occlusion

// Borders of the foil test, in µm of gap: foil of 8 µm is held up to 6 and
// drags lightly up to 8 (Harper & Setchell 2002, Int J Prosthodont 15:347-352).
const (
	HoldsUm = 6.0
	DragsUm = 8.0
)

// ScanDoubtUm is the standard deviation, in µm, of a gap between two registered
// model scans: 15 for each scan and 30 for the registration, root-sum-square.
// Laboratory scanners are published with 0 to 25 (PMC8303663, PMC10812911), bite
// registrations with above 50 at the most (Kakali & Halazonetis 2023, Korean J
// Orthod 53:254-263).
const ScanDoubtUm = 36.7

// HoldClass is what an 8 µm foil would do between a tooth and its opponents.
type HoldClass string

// The classes. Undecided is a tooth that the casts show to be just out of
// contact, by no more than the scans can tell.
const (
	ClassHolds     HoldClass = "holds"
	ClassDrags     HoldClass = "light_drag"
	ClassUndecided HoldClass = "undecided"
	ClassPasses    HoldClass = "passes"
)

// classify is the class of a gap in µm with a standard deviation of doubt µm.
// What touches on the casts is said to hold: casts that meet somewhere meet
// there. What does not may still do so in the mouth.
func classify(gapUm, doubtUm float64) HoldClass {
	switch {
	case gapUm <= HoldsUm:
		return ClassHolds
	case gapUm <= DragsUm:
		return ClassDrags
	case gapUm-doubtUm <= DragsUm:
		return ClassUndecided
	}
	return ClassPasses
}
