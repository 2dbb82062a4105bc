package findings

import (
	"fmt"
)

// WearFacet is a nearly flat, sharp-edged patch of a tooth and the movement that
// would grind it.
type WearFacet struct {
	// the tooth; null for an arch without labels
	Tooth Part `json:"tooth"`
	// number of the facet on its tooth, from 1, sharpest first
	Number int `json:"number"`
	// middle of the patch on its plane, in intercuspation in the articulator frame
	CentreMM Vec `json:"centre_mm"`
	// unit normal of the plane, out of the tooth
	Normal Vec `json:"normal"`
	// area of the patch
	AreaMM2 float64 `json:"area_mm2"`
	// angle of the plane to the horizontal plane
	DipDeg float64 `json:"dip_deg"`
	// where the facet faces, seen along the tooth's long axis: 0 to mesial, 90 to buccal, 180 to
	// distal, -90 to lingual
	DirectionDeg float64 `json:"direction_deg"`
	// root mean square distance of the patch from its plane
	FlatnessUm float64 `json:"flatness_um"`
	// mean angle of the surface to the plane just beyond the rim, above 0 where it falls away
	RimDeg float64 `json:"rim_deg"`
	// what passes over the facet in each movement that brings the opposing arch near
	Slides []Slide `json:"slides"`
	// the movement that would grind it; several where they explain it alike (angles within 4°),
	// none where no simulated movement explains it
	GroundBy []Movement `json:"ground_by"`
	// the opposing facet that lies on it in a movement; null for none
	Partner *FacetMatch `json:"partner"`
}

// Slide is how the opposing arch passes over a facet in a movement.
type Slide struct {
	// the movement
	Movement Movement `json:"movement" jsonschema:"enum=right,enum=left,enum=protrusive"`
	// opposing tooth that comes nearest
	Over Part `json:"over"`
	// least gap to it
	GapUm float64 `json:"gap_um"`
	// travel at which it begins
	FromMM float64 `json:"from_mm"`
	// travel at which it ends
	ToMM float64 `json:"to_mm"`
	// length of the slide while it is near
	WayMM float64 `json:"way_mm"`
	// mean angle between the direction of the slide and the plane, over the 0.2 mm in which it is
	// least
	AngleDeg float64 `json:"angle_deg"`
}

// FacetMatch names a facet that meets another one.
type FacetMatch struct {
	// tooth of the opposing facet
	Tooth Part `json:"tooth"`
	// number of the opposing facet on its tooth
	Number int `json:"number"`
	// angle between the two planes where they meet
	AngleDeg float64 `json:"angle_deg"`
	// movement in which they lie on each other
	Movement Movement `json:"movement" jsonschema:"enum=right,enum=left,enum=protrusive"`
	// travel at which the planes are most nearly parallel
	TravelMM float64 `json:"travel_mm"`
}

// Name is how text calls the facet.
func (f *WearFacet) Name() string { return fmt.Sprintf("%v facet %d", f.Tooth, f.Number) }
