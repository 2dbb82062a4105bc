// Package casefile is the case file: what a person says about two scans before
// they are examined. It reads and writes it, knows its defaults and its
// possible and usual ranges, and describes it as a JSON Schema.
//
// A [Case] is plain data in the units of the file: lengths in millimetres,
// angles in degrees, foils in micrometres. docs/case-file.md lists every key.
package casefile

import (
	"encoding/json"
	"fmt"
	"path/filepath"

	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// Case is one case. [Default] is the case that says nothing; [Read] and
// [Parse] fill in what a file says, so that a Case always holds the values in
// effect.
//
// The ranges of the numbers stand in the field tags: minimum and maximum are
// what is possible (outside is an error), usual is what is met (outside is a
// warning).
type Case struct {
	// Dir is the folder that the paths of the case start from.
	Dir string `json:"-"`

	// Name is how reports call the case. It may be empty.
	Name string `json:"name,omitempty" jsonschema:"maxLength=200" jsonschema_description:"how reports call the case"`
	// Upper and Lower are the scans of the arches.
	Upper Arch `json:"upper" jsonschema:"required" jsonschema_description:"scan of the upper arch"`
	Lower Arch `json:"lower" jsonschema:"required" jsonschema_description:"scan of the lower arch"`
	// Units is what one unit of length of the scans is.
	Units mesh.Unit `json:"units" jsonschema_description:"what one unit of length of the scans is"`
	// Mount says where the scans stand in the articulator.
	Mount Mount `json:"mount" jsonschema_description:"where the scans stand in the articulator"`
	// Landmarks are points for reporting.
	Landmarks Landmarks `json:"landmarks,omitzero" jsonschema_description:"points for reporting"`
	// Settings are the settings of the articulator.
	Settings Settings `json:"settings" jsonschema_description:"settings of the articulator"`
	// Settle says what is done with the relation in which the scans came.
	Settle Settle `json:"settle" jsonschema_description:"what is done with the relation in which the scans came"`
	// Excursions are the movements to examine, each movement at most once.
	Excursions []Excursion `json:"excursions" jsonschema:"minItems=1,maxItems=3" jsonschema_description:"movements to examine"`
	// FoilsUm are the foil thicknesses (µm) at which contacts are reported, no
	// two alike.
	//
	// Usual: foil of 8 µm (Harper & Setchell 2002, Int J Prosthodont 15:347) to
	// papers of 200 µm (Brizuela-Velasco et al. 2015, Int J Prosthodont 28:360).
	// Possible: above 0 and to 1 mm, our choice.
	FoilsUm []float64 `json:"foils_um" jsonschema:"minItems=1,maxItems=16,uniqueItems=true,exclusiveMinimum=0,maximum=1000" usual:"8,200" jsonschema_description:"foil thicknesses at which contacts are reported (µm)"`
	// Thresholds are the borders of what is judged.
	Thresholds Thresholds `json:"thresholds" jsonschema_description:"borders by which the examination judges"`
	// Support is how the teeth give in their sockets.
	Support Support `json:"support" jsonschema_description:"how teeth give in their sockets"`
	// Record is what was seen in the mouth; nil where nothing was recorded.
	Record *Record `json:"record,omitempty" jsonschema_description:"what was seen in the mouth"`
	// Notation is how the summary and the page write teeth; files keep ISO 3950.
	Notation dentition.Notation `json:"notation" jsonschema_description:"how summary and page write teeth: iso, universal or quadrant; tables and findings.json keep ISO 3950"`
	// Restore lists the teeth that will be restored, no two alike.
	Restore []dentition.ToothID `json:"restore,omitempty" jsonschema:"maxItems=52,uniqueItems=true" jsonschema_description:"teeth that will be restored"`
}

// Path is a path of the case, such as a scan, as it can be opened from the
// working directory.
func (c *Case) Path(p string) string {
	p = filepath.FromSlash(p)
	if filepath.IsAbs(p) {
		return p
	}
	return filepath.Join(c.Dir, p)
}

// Arch is the scan of one arch.
type Arch struct {
	// Scan is the path of the surface: STL, PLY or OBJ.
	Scan string `json:"scan" jsonschema:"required,minLength=1" jsonschema_description:"path of the surface (STL, PLY or OBJ), relative to the case file"`
	// Labels is the path of the labels that say which vertex belongs to which
	// tooth; empty where there are none.
	Labels string `json:"labels,omitempty" jsonschema:"minLength=1" jsonschema_description:"path of the tooth labels, relative to the case file"`
}

// Point is a point (mm, scan frame): x, y, z.
type Point [3]float64

// Vec is the point as a vector.
func (p Point) Vec() r3.Vec { return r3.Vec{X: p[0], Y: p[1], Z: p[2]} }

// String is the point as files write it.
func (p Point) String() string { return fmt.Sprintf("[%g, %g, %g]", p[0], p[1], p[2]) }

// Mount says where the scans stand in the articulator. Exactly one of its
// fields is set.
type Mount struct {
	// Average mounts by mean values.
	Average *Average `json:"average,omitempty" jsonschema_description:"by mean values, from three points on the lower arch"`
	// Recorded mounts by a recorded hinge axis.
	Recorded *Recorded `json:"recorded,omitempty" jsonschema_description:"by a recorded hinge axis (facebow)"`
	// Matrix is the rigid motion scan → articulator (mm), 4×4 row-major.
	Matrix *[16]float64 `json:"matrix,omitempty" jsonschema_description:"by a rigid motion scan to articulator (mm), 4×4 row-major"`
}

// Average is a mounting by mean values: the Bonwill triangle and the Balkwill
// angle. Its points are all given or all nil; nil ones are found on the
// labelled arch.
type Average struct {
	// IncisalPoint is the middle of the mesio-incisal edges of 31 and 41.
	IncisalPoint *Point `json:"incisal_point,omitempty" jsonschema_description:"middle of the mesio-incisal edges of 31 and 41 (mm, scan frame)"`
	// RightMolar and LeftMolar are the disto-buccal cusp tips of 47 and 37, or
	// of the rearmost erupted molars.
	RightMolar *Point `json:"right_molar,omitempty" jsonschema_description:"disto-buccal cusp tip of 47 or the rearmost erupted molar (mm, scan frame)"`
	LeftMolar  *Point `json:"left_molar,omitempty" jsonschema_description:"disto-buccal cusp tip of 37 or the rearmost erupted molar (mm, scan frame)"`
	// CondyleToIncisalMM is the side a of the Bonwill triangle from a condylar
	// centre to the incisal point (mm), more than half the intercondylar
	// distance.
	//
	// Default: [kinematics.MeanCondyleToIncisal]. Usual: from dry mandibles
	// (97.8 and 98.6 on average of 40; band of 90 to 110) to points on the skin of
	// men (Kochenborger et al.: 124.7 ± 7.8, two standard deviations). Possible:
	// our choice.
	CondyleToIncisalMM float64 `json:"condyle_to_incisal_mm" jsonschema:"minimum=50,maximum=200" usual:"90,140" jsonschema_description:"side of the Bonwill triangle from condyle to incisal point (mm)"`
	// BalkwillDeg is the angle β between the occlusal plane and the plane of the
	// Bonwill triangle (degrees).
	//
	// Usual: 17 to 25 for mean mountings (Morneburg & Pröschel 2002, Int J
	// Prosthodont 15:358) and 22 to 30 in Balkwill's own measurements. Possible:
	// our choice.
	BalkwillDeg float64 `json:"balkwill_deg" jsonschema:"minimum=0,maximum=60" usual:"17,30" jsonschema_description:"Balkwill angle (degrees)"`
	// PlaneTiltDeg is the angle τ of the occlusal plane to the reference plane
	// (degrees), positive where its front is lower than its back.
	//
	// Usual: to the occlusal or Camper's plane about 0, to Frankfort 12.0 ± 4.4
	// (Kumar et al. 2013, J Adv Prosthodont 5:9), each with the 5 of mounting
	// error (O'Malley & Milosevic 2000, Br J Oral Maxillofac Surg 38:185).
	// Possible: our choice.
	PlaneTiltDeg float64 `json:"plane_tilt_deg" jsonschema:"minimum=-45,maximum=45" usual:"-5,20" jsonschema_description:"angle of the occlusal plane to the reference plane, positive where its front is lower (degrees)"`
}

// Recorded is a mounting by a recorded hinge axis. The distance of the centres
// is the intercondylar distance.
type Recorded struct {
	// RightCondyle and LeftCondyle are the condylar centres.
	RightCondyle Point `json:"right_condyle" jsonschema:"required" jsonschema_description:"right condylar centre (mm, scan frame)"`
	LeftCondyle  Point `json:"left_condyle" jsonschema:"required" jsonschema_description:"left condylar centre (mm, scan frame)"`
	// ReferencePoint is a third point of the reference plane, in front of the
	// axis.
	ReferencePoint Point `json:"reference_point" jsonschema:"required" jsonschema_description:"third point of the reference plane, in front of the axis (mm, scan frame)"`
}

// Landmarks are points for reporting.
type Landmarks struct {
	// IncisalPoint is the middle of the mesio-incisal edges of 31 and 41; nil
	// where it is not given. The average mounting brings its own.
	IncisalPoint *Point `json:"incisal_point,omitempty" jsonschema_description:"middle of the mesio-incisal edges of 31 and 41 (mm, scan frame)"`
}

// ReferencePlane is the horizontal plane to which condylar settings were
// measured.
type ReferencePlane string

// The reference planes.
const (
	OcclusalPlane    ReferencePlane = "occlusal"
	CamperPlane      ReferencePlane = "camper"
	FrankfortPlane   ReferencePlane = "frankfort"
	AxisOrbitalPlane ReferencePlane = "axis_orbital"
)

// Settings are the settings of the articulator.
type Settings struct {
	// IntercondylarMM is the distance D of the condylar centres (mm). With a
	// recorded axis it is the recorded distance.
	//
	// Default: what semi-adjustable models use as average (trade convention).
	// Usual: from dry mandibles (93.4 to 97.4 on average) to skin-based means
	// plus two standard deviations (Kochenborger et al.). Possible: our choice.
	IntercondylarMM float64 `json:"intercondylar_mm" jsonschema:"minimum=50,maximum=200" usual:"90,140" jsonschema_description:"distance of the condylar centres (mm)"`
	// ReferencePlane is the plane to which the condylar settings were measured;
	// it is the horizontal plane of the articulator.
	ReferencePlane ReferencePlane `json:"reference_plane" jsonschema:"enum=occlusal,enum=camper,enum=frankfort,enum=axis_orbital" jsonschema_description:"plane to which the condylar settings were measured"`
	// Right and Left are the settings of the condyles.
	Right Side `json:"right" jsonschema_description:"settings of the right condyle"`
	Left  Side `json:"left" jsonschema_description:"settings of the left condyle"`
	// Guidance is what limits the closing.
	Guidance Guidance `json:"guidance" jsonschema_description:"what limits the closing"`
}

// Side holds the settings of one condyle.
type Side struct {
	// CondylarInclinationDeg is the sagittal condylar inclination H to the
	// reference plane (degrees). With a recorded path it is the inclination of
	// the chord of the first 5 mm of the curve through the recorded points.
	//
	// Default: [kinematics.MeanCondylarInclination].
	// Usual: the means of 24 (from wear facets; Hobo & Takayama 1995) to 53.5 (to
	// Frankfort) with the spread of 12 found in 154 patients (Appl Sci 2025,
	// 15:10231). Possible: our choice.
	CondylarInclinationDeg float64 `json:"condylar_inclination_deg" jsonschema:"minimum=-20,maximum=80" usual:"12,66" jsonschema_description:"sagittal condylar inclination to the reference plane (degrees)"`
	// SideShiftAngleDeg is the progressive side shift (Bennett) angle B of this
	// condyle when it advances, seen from above (degrees).
	//
	// Usual: 0 to 30; measured means are 7 to 9, textbooks give 7 to 30. Possible:
	// our choice.
	SideShiftAngleDeg float64 `json:"side_shift_angle_deg" jsonschema:"minimum=0,maximum=60" usual:"0,30" jsonschema_description:"progressive side shift (Bennett) angle (degrees)"`
	// SideShiftAngleFrom says what the angle was computed from; empty where it
	// was given.
	SideShiftAngleFrom AngleSource `json:"side_shift_angle_from,omitempty" jsonschema:"enum=condylar_inclination" jsonschema_description:"condylar_inclination computes the side shift angle as H/8 + 12 (1926)"`
	// ImmediateSideShiftMM is the immediate side shift S (mm).
	//
	// Usual: 0 to 3 over 23 studies (Taylor et al. 2016, J Prosthet Dent).
	// Possible: our choice.
	ImmediateSideShiftMM float64 `json:"immediate_side_shift_mm" jsonschema:"minimum=0,maximum=5" usual:"0,3" jsonschema_description:"immediate side shift (mm)"`
	// SideShiftTravelMM is the forward travel f₀ over which the immediate side
	// shift is reached (mm); at 0 it is there at once.
	//
	// Usual: within 3 mm in 94 % of tracings (Son et al. 1998, J Prosthet Dent
	// 80:672). Possible: our choice.
	SideShiftTravelMM float64 `json:"side_shift_travel_mm" jsonschema:"minimum=0,maximum=10" usual:"0,3" jsonschema_description:"forward travel over which the immediate side shift is reached (mm)"`
	// LaterotrusionBackDeg and LaterotrusionUpDeg turn the line on which this
	// condyle slides when it is the working one away from straight outwards,
	// to the back and up (degrees); negative is forward and down. Each is what is seen
	// along its own axis, from above and from in front: outwards by 1 mm goes with
	// tan(back) mm to posterior and tan(up) mm to superior, whatever the other is. All
	// four occur (Yang et al. 2000, J Oral Rehabil 27:911). Ranges: our choice.
	LaterotrusionBackDeg float64 `json:"laterotrusion_back_deg" jsonschema:"minimum=-60,maximum=60" usual:"-30,30" jsonschema_description:"turn of the working condyle's line to the back (degrees)"`
	LaterotrusionUpDeg   float64 `json:"laterotrusion_up_deg" jsonschema:"minimum=-60,maximum=60" usual:"-30,30" jsonschema_description:"turn of the working condyle's line upwards (degrees)"`
	// Path is the shape of the path where it is not straight.
	Path *CondylarPath `json:"path,omitempty" jsonschema_description:"shape of the condylar path where it is not straight"`
}

// AngleSource says what an angle is computed from.
type AngleSource string

// FromInclination computes the side shift angle from the condylar inclination
// by [SideShiftFormula].
const FromInclination AngleSource = "condylar_inclination"

// SideShiftFormula is the lateral inclination L = H/8 + 12 (degrees) for a
// sagittal condylar inclination H (degrees), the formula of 1926 ("Articulation
// defined, analyzed and formulated", J Am Dent Assoc 13).
func SideShiftFormula(inclinationDeg float64) float64 { return inclinationDeg/8 + 12 }

// CondylarPath is a condylar path that is not straight. Exactly one of its
// fields is set.
type CondylarPath struct {
	// ArcRadiusMM is the radius of an arc, convex downwards, whose chord over the
	// first 5 mm has the condylar inclination (mm).
	//
	// Usual: 5 to 20 in textbooks. Possible: our choice.
	ArcRadiusMM float64 `json:"arc_radius_mm,omitempty" jsonschema:"exclusiveMinimum=0,maximum=1000" usual:"5,20" jsonschema_description:"radius of an arc whose chord over the first 5 mm has the condylar inclination (mm)"`
	// PointsMM are recorded points [forward, down] in the sagittal plane (mm).
	// They begin in intercuspation with [0, 0] and always go forward. Possible: our choice,
	// well beyond the drop of 7 and the length of 13 of an articular eminence.
	PointsMM [][2]float64 `json:"points_mm,omitempty" jsonschema:"minItems=2,maxItems=1000,minimum=-30,maximum=30" jsonschema_description:"recorded points [forward, down] (mm), beginning with [0, 0] and always going forward"`
}

// Guide is what limits the closing in an excursion.
type Guide string

// The guides.
const (
	ByTeeth Guide = "teeth"
	ByTable Guide = "table"
	ByNone  Guide = "free"
)

// Guidance is what limits the closing. The numbers that do not belong to By are
// 0 and are not written.
type Guidance struct {
	// By is the teeth, an incisal table, or nothing.
	By Guide `json:"by" jsonschema:"required,enum=teeth,enum=table,enum=free" jsonschema_description:"what limits the closing"`
	// InclinationDeg is the sagittal inclination γ of the incisal table
	// (degrees). Usual: to the natural incisal guidance of 60 in textbooks.
	InclinationDeg float64 `json:"inclination_deg" jsonschema:"minimum=0,maximum=80" usual:"0,60" jsonschema_description:"sagittal inclination of the incisal table (degrees)"`
	// WingsDeg is the inclination δ of its lateral wings (degrees). Usual: to the
	// lateral guidance of 48 ± 10 of teeth, rounded up.
	WingsDeg float64 `json:"wings_deg" jsonschema:"minimum=0,maximum=80" usual:"0,60" jsonschema_description:"inclination of the table's lateral wings (degrees)"`
	// PinMM is by how much the incisal pin is raised (mm). Ranges: common
	// practice, no source.
	PinMM float64 `json:"pin_mm" jsonschema:"minimum=0,maximum=20" usual:"0,5" jsonschema_description:"amount by which the incisal pin is raised (mm)"`
	// OpeningDeg is the fixed opening θ of a free movement (degrees). Possible:
	// the range in which the closing is searched. Usual: the terminal hinge
	// rotation of 10 to 13.
	OpeningDeg float64 `json:"opening_deg" jsonschema:"minimum=-8,maximum=20" usual:"0,13" jsonschema_description:"fixed opening of a free movement (degrees)"`
}

// SettleTo is where casts are brought from the relation in which they came.
type SettleTo string

// The ways to settle.
const (
	SettleSeat SettleTo = "seat"
	SettleLift SettleTo = "lift"
	SettleNone SettleTo = "none"
)

// Settle says what is done with the relation in which the scans came. What
// follows How belongs to the seat; with the other two it is 0 and not written.
type Settle struct {
	// How is to press together until the casts lock, to remove overlap only, or
	// to keep the relation.
	How SettleTo `json:"how" jsonschema:"enum=seat,enum=lift,enum=none" jsonschema_description:"seat presses the casts together until they lock, lift only removes overlap, none keeps the relation"`
	// DoubtUm is how far the seat may lie from the given relation, at any tooth,
	// to be taken (µm).
	//
	// Default: three times the 50 to which a bite scan is good (Kakali and
	// Halazonetis 2023, Korean J Orthod 53:254). Usual: from that error to the
	// largest of scanned bites with a raised side, 165 to 369 (J Dent Rehabil Appl
	// Sci 34(1)). Possible: our choice.
	DoubtUm float64 `json:"doubt_um" jsonschema:"exclusiveMinimum=0,maximum=5000" usual:"50,400" jsonschema_description:"how far the seat may lie from the given relation, at any tooth, to be taken (µm)"`
	// PressPoint is the point of the lower arch on which the pressing force acts;
	// nil means the middle of the posterior occlusal table.
	PressPoint *Point `json:"press_point,omitempty" jsonschema_description:"point of the lower arch on which the pressing force acts (mm, scan frame)"`
	// PressDirection is the direction of the force on the lower arch, of any
	// length; nil means the normal of the lower occlusal plane.
	PressDirection *Point `json:"press_direction,omitempty" jsonschema_description:"direction in which the lower arch is pressed, of any length (scan frame)"`
}

// MarshalJSON writes the keys that belong to How: the word alone but for a seat.
func (s Settle) MarshalJSON() ([]byte, error) {
	if s.How != SettleSeat {
		return json.Marshal(s.How)
	}
	type all Settle
	return json.Marshal(all(s))
}

// Movement is an excursion of the lower jaw.
type Movement string

// The movements. Right is to the patient's right.
const (
	Right      Movement = "right"
	Left       Movement = "left"
	Protrusive Movement = "protrusive"
)

// Excursion is one movement to examine.
type Excursion struct {
	// Movement is where the jaw goes.
	Movement Movement `json:"movement" jsonschema:"required,enum=right,enum=left,enum=protrusive" jsonschema_description:"where the jaw goes"`
	// MaxMM is the farthest travel of the advancing condyle (mm).
	//
	// Usual: to the curved length of the articular eminence, 11.6 to 12.7 on 120
	// skulls. Possible: our choice.
	MaxMM float64 `json:"max_mm" jsonschema:"exclusiveMinimum=0,maximum=20" usual:"1,13" jsonschema_description:"farthest travel of the advancing condyle (mm)"`
	// StepMM is the distance between samples (mm), at most MaxMM. Usual: our
	// choice, so that a contact is not stepped over.
	StepMM float64 `json:"step_mm" jsonschema:"exclusiveMinimum=0,maximum=20" usual:"0.01,0.5" jsonschema_description:"distance between samples (mm)"`
}

// MaxSamples is the largest number of samples of one excursion.
const MaxSamples = 10_000

// Default is the case with every default and no scans.
func Default() *Case {
	side := Side{
		CondylarInclinationDeg: kinematics.MeanCondylarInclination.Degrees(),
		SideShiftAngleDeg:      kinematics.MeanSideShift.Degrees(),
		SideShiftTravelMM:      kinematics.MeanShiftTravel,
	}
	return &Case{
		Units: mesh.Millimetre,
		Mount: Mount{Average: defaultAverage()},
		Settings: Settings{
			IntercondylarMM: kinematics.MeanIntercondylar,
			ReferencePlane:  OcclusalPlane,
			Right:           side,
			Left:            side,
			Guidance:        defaultGuidance(ByTeeth),
		},
		Settle:     defaultSettle(SettleSeat),
		Excursions: []Excursion{defaultExcursion(Right), defaultExcursion(Left), defaultExcursion(Protrusive)},
		FoilsUm:    []float64{8, 40},
		Thresholds: DefaultThresholds(),
		Support:    DefaultSupport(),
	}
}

// MarshalJSON writes the keys that belong to By.
func (g Guidance) MarshalJSON() ([]byte, error) {
	switch g.By {
	case ByTable:
		return json.Marshal(struct {
			By             Guide   `json:"by"`
			InclinationDeg float64 `json:"inclination_deg"`
			WingsDeg       float64 `json:"wings_deg"`
			PinMM          float64 `json:"pin_mm"`
		}{g.By, g.InclinationDeg, g.WingsDeg, g.PinMM})
	case ByNone:
		return json.Marshal(struct {
			By         Guide   `json:"by"`
			OpeningDeg float64 `json:"opening_deg"`
		}{g.By, g.OpeningDeg})
	}
	return json.Marshal(struct {
		By Guide `json:"by"`
	}{g.By})
}

func defaultAverage() *Average {
	return &Average{CondyleToIncisalMM: kinematics.MeanCondyleToIncisal, BalkwillDeg: kinematics.MeanBalkwill.Degrees()}
}

func defaultExcursion(m Movement) Excursion { return Excursion{Movement: m, MaxMM: 8, StepMM: 0.1} }

func defaultSettle(how SettleTo) Settle {
	if how == SettleSeat {
		return Settle{How: how, DoubtUm: 150}
	}
	return Settle{How: how}
}

func defaultGuidance(by Guide) Guidance {
	switch by {
	case ByTable:
		return Guidance{By: by, InclinationDeg: 10}
	case ByNone:
		return Guidance{By: by, OpeningDeg: 3}
	}
	return Guidance{By: by}
}
