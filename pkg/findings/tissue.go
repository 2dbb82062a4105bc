package findings

// Tissue is a place where something beside the teeth would meet before the teeth do. The
// casts were closed between their teeth, so that nothing else in the findings shows it.
type Tissue struct {
	// the same in words
	Text Sentence `json:"text"`
	// the movement in which it shows most; absent for intercuspation
	Movement Movement `json:"movement,omitempty"`
	// travel at which it does
	TravelMM float64 `json:"travel_mm"`
	// by how much it would meet before the teeth, along the arc of closing
	HeightUm float64 `json:"height_um"`
	// where
	PointMM Vec `json:"point_mm"`
	// with what the upper scan meets
	Upper TissueSide `json:"upper"`
	// with what the lower scan meets
	Lower TissueSide `json:"lower"`
}

// TissueSide is what one arch meets with there.
type TissueSide struct {
	// a tooth; surface beside or behind it, or between it and the next tooth where one is
	// missing; anything farther away
	Kind TissueKind `json:"kind"`
	// the nearest tooth; null for none near
	Tooth Part `json:"tooth"`
	// the tooth at the other end of a gap; null for no gap
	Next Part `json:"next"`
}

// TissueKind says what meets.
type TissueKind string

// The kinds.
const (
	TissueTooth     TissueKind = "tooth"
	TissueBeside    TissueKind = "beside"
	TissueBehind    TissueKind = "behind"
	TissueRidge     TissueKind = "ridge"
	TissueElsewhere TissueKind = "elsewhere"
)

// Ridge says whether a tooth meets the ridge of a gap: a finding of the mouth, not a fault
// of the scan.
func (t *Tissue) Ridge() bool {
	return t.Upper.Kind == TissueTooth && t.Lower.Kind == TissueRidge || t.Upper.Kind == TissueRidge && t.Lower.Kind == TissueTooth
}
