package findings

import (
	"fmt"
)

// WearFacet is a nearly flat, sharp-edged patch of a tooth and the movement that
// would grind it.
type WearFacet struct {
	Tooth  Part `json:"tooth"`
	Number int  `json:"number" jsonschema_description:"number of the facet on its tooth, from 1, sharpest first"`
	// CentreMM and Normal are the plane, in intercuspation in the articulator frame.
	CentreMM     Vec         `json:"centre_mm" jsonschema_description:"middle of the patch on its plane, in intercuspation in the articulator frame"`
	Normal       Vec         `json:"normal" jsonschema_description:"unit normal of the plane, out of the tooth"`
	AreaMM2      float64     `json:"area_mm2"`
	DipDeg       float64     `json:"dip_deg" jsonschema_description:"angle of the plane to the horizontal plane"`
	DirectionDeg float64     `json:"direction_deg" jsonschema_description:"where the facet faces, seen along the tooth's long axis: 0 to mesial, 90 to buccal, 180 to distal, -90 to lingual"`
	FlatnessUm   float64     `json:"flatness_um" jsonschema_description:"root mean square distance of the patch from its plane"`
	RimDeg       float64     `json:"rim_deg" jsonschema_description:"mean angle of the surface to the plane just beyond the rim, above 0 where it falls away"`
	Slides       []Slide     `json:"slides" jsonschema_description:"what passes over the facet in each movement that brings the opposing arch near"`
	GroundBy     []Movement  `json:"ground_by" jsonschema_description:"the movement that would grind it; several where they explain it alike, none where no simulated movement explains it"`
	Partner      *FacetMatch `json:"partner" jsonschema_description:"the opposing facet that lies on it; null for none"`
}

// Slide is how the opposing arch passes over a facet in a movement.
type Slide struct {
	Movement Movement `json:"movement" jsonschema:"enum=right,enum=left,enum=protrusive"`
	Over     Part     `json:"over" jsonschema_description:"opposing tooth that comes nearest"`
	GapUm    float64  `json:"gap_um" jsonschema_description:"least gap to it"`
	FromMM   float64  `json:"from_mm"`
	ToMM     float64  `json:"to_mm"`
	WayMM    float64  `json:"way_mm" jsonschema_description:"length of the slide while it is near"`
	AngleDeg float64  `json:"angle_deg" jsonschema_description:"mean angle between the direction of the slide and the plane, over the 0.2 mm in which it is least"`
}

// FacetMatch names a facet that meets another one.
type FacetMatch struct {
	Tooth    Part     `json:"tooth"`
	Number   int      `json:"number"`
	AngleDeg float64  `json:"angle_deg" jsonschema_description:"angle between the two planes where they meet"`
	Movement Movement `json:"movement" jsonschema:"enum=right,enum=left,enum=protrusive" jsonschema_description:"movement in which they lie on each other"`
	TravelMM float64  `json:"travel_mm"`
}

// Name is how text calls the facet.
func (f *WearFacet) Name() string { return fmt.Sprintf("%v facet %d", f.Tooth, f.Number) }
