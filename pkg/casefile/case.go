// Package casefile is the case file: what a person says about two scans before
// they are examined. It reads and writes it, knows its defaults and its
// possible and usual ranges, and describes it as a JSON Schema.
//
// A [Case] is plain data in the units of the file: lengths in millimetres,
// angles in degrees, foils in micrometres. docs/case-file.md lists every key:
// the first paragraph of a field's comment is its meaning there and in the schema, further ones
// give its default and the source of its ranges.
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
	// File and SHA256 are the name of the file that [Read] read, without its folder, and
	// the checksum of what it read, hexadecimal.
	File, SHA256 string `json:"-"`

	// how reports call the case: one line of plain text; it may be empty
	Name string `json:"name,omitempty" jsonschema:"maxLength=200"`
	// day of the examination, for the page and its print: `YYYY-MM-DD`
	Date Date `json:"date,omitempty"`
	// scan of the upper arch
	Upper Arch `json:"upper" jsonschema:"required"`
	// scan of the lower arch
	Lower Arch `json:"lower" jsonschema:"required"`
	// what one unit of length of the scans is, which STL and OBJ cannot say: `mm`, `cm`, `m`,
	// `inch` (`in`) or `um` (`µm`)
	Units mesh.Unit `json:"units"`
	// where the scans stand in the articulator
	//
	// Default: by mean values
	Mount Mount `json:"mount"`
	// points for reporting
	Landmarks Landmarks `json:"landmarks,omitzero"`
	// settings of the articulator
	Settings Settings `json:"settings"`
	// what is done with the relation in which the scans came: `seat` (or `true`), `lift`, `none`
	// (or `false`), or a mapping
	Settle Settle `json:"settle"`
	// movements to examine, each at most once
	Excursions []Excursion `json:"excursions" jsonschema:"minItems=1,maxItems=3"`
	// foil thicknesses (µm) at which contacts are reported, no two alike
	//
	// Source: metal foil: Harper & Setchell 2002, Int J Prosthodont 15:347; papers:
	// Brizuela-Velasco et al. 2015, Int J Prosthodont 28:360; possible: our choice
	FoilsUm []float64 `json:"foils_um" jsonschema:"minItems=1,maxItems=16,exclusiveMinimum=0,maximum=1000" usual:"8,200"`
	// thresholds by which the examination judges
	Thresholds Thresholds `json:"thresholds"`
	// how teeth yield in their sockets
	Support Support `json:"support"`
	// how far settings, mounting, registration and scans may be wrong, for the probabilities of the
	// findings
	Doubt Doubt `json:"doubt,omitzero"`
	// what was seen in the mouth
	Record *Record `json:"record,omitempty"`
	// how the summary, the page and the pictures write teeth: `iso` (two digits), `universal` (1
	// to 32 from the upper right third molar round to the lower right one, A to T for deciduous
	// teeth) or `quadrant` (position with a corner: 6┘ └6 ┌6 6┐); tables, `findings.json` and
	// `scene.glb` keep ISO 3950
	Notation dentition.Notation `json:"notation"`
	// teeth that will be restored, no two alike
	Restore []dentition.ToothID `json:"restore,omitempty" jsonschema:"maxItems=52"`
	// steps to try on copies of the casts with `cusptrace trial`, in their order; `examine` does
	// not carry them out
	Trial []TrialStep `json:"trial,omitempty" jsonschema:"maxItems=100"`
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
	// path of the surface (STL, PLY or OBJ), relative to the case file
	Scan string `json:"scan" jsonschema:"required,minLength=1"`
	// path of the tooth labels: `{"jaw": "upper", "labels": […]}` with one whole number for every
	// distinct vertex, in the order in which they first appear in the scan; 0 is no tooth, else
	// the ISO 3950 code. A triangle belongs to the tooth that at least two of its corners carry
	//
	// Default: found from the shape of the scan; a scan that shows no arch is examined without
	// teeth. The findings say which, and how sure each tooth is
	Labels string `json:"labels,omitempty" jsonschema:"minLength=1"`
	// paths of further scans of the same arch, made anew from its start to its end, each in a frame
	// of its own: how they differ tells how far scans of this arch are distorted, for the
	// probabilities of the findings. They are not examined
	//
	// Default: none: the usual size of `doubt`
	Again []string `json:"again,omitempty" jsonschema:"minItems=1,maxItems=8"`
}

// Files lists the files that an arch is read from, as the case names them.
func (a Arch) Files() []string {
	out := []string{a.Scan}
	if a.Labels != "" {
		out = append(out, a.Labels)
	}
	return append(out, a.Again...)
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
	// by mean values, from three points on the lower arch
	//
	// Default: used, with its defaults
	Average *Average `json:"average,omitempty"`
	// by a recorded hinge axis (facebow)
	Recorded *Recorded `json:"recorded,omitempty"`
	// by a rigid motion from the scan frame to the articulator frame (mm), 4×4 row-major: it may
	// turn and move, but not scale or mirror
	//
	// Source: our choice
	Matrix *[16]float64 `json:"matrix,omitempty"`
}

// Average is a mounting by mean values: the Bonwill triangle and the Balkwill
// angle. Its points are all given or all nil; nil ones are found on the
// labelled arch.
type Average struct {
	// middle of the mesio-incisal edges of 31 and 41 (mm, scan frame)
	//
	// Default: found
	IncisalPoint *Point `json:"incisal_point,omitempty"`
	// disto-buccal cusp tip of 47, or of the rearmost erupted molar (mm, scan frame)
	//
	// Default: found
	RightMolar *Point `json:"right_molar,omitempty"`
	// disto-buccal cusp tip of 37, or of the rearmost erupted molar (mm, scan frame)
	//
	// Default: found
	LeftMolar *Point `json:"left_molar,omitempty"`
	// side of the Bonwill triangle from a condylar centre to the incisal point; more than half of
	// `intercondylar_mm`
	//
	// Source: default: Central European teaching value; usual: 40 dry mandibles (97.8 and 98.6 on
	// average; band of 90 to 110) to points on the skin of men (Kochenborger et al.: 124.7 ± 7.8,
	// two standard deviations); possible: our choice
	CondyleToIncisalMM float64 `json:"condyle_to_incisal_mm" jsonschema:"minimum=50,maximum=200" usual:"90,140"`
	// Balkwill angle: occlusal plane to the plane of the Bonwill triangle
	//
	// Source: 17 to 25 for mean mountings: Morneburg & Pröschel 2002, Int J Prosthodont 15:358; 22
	// to 30: Balkwill 1866, as textbooks give it; possible: our choice
	BalkwillDeg float64 `json:"balkwill_deg" jsonschema:"minimum=0,maximum=60" usual:"17,30"`
	// angle of the occlusal plane to the reference plane, positive where its front is lower
	//
	// Source: to the occlusal or Camper's plane about 0; to Frankfort 12.0 ± 4.4: Kumar et al.
	// 2013, J Adv Prosthodont 5:9; ± 5 of mounting: O'Malley & Milosevic 2000, Br J Oral
	// Maxillofac Surg 38:185; possible: our choice
	PlaneTiltDeg float64 `json:"plane_tilt_deg" jsonschema:"minimum=-45,maximum=45" usual:"-5,20"`
}

// Recorded is a mounting by a recorded hinge axis. The distance of the centres
// is the intercondylar distance.
type Recorded struct {
	// right condylar centre (mm, scan frame)
	RightCondyle Point `json:"right_condyle" jsonschema:"required"`
	// left condylar centre (mm, scan frame), 50 to 200 mm from the right one
	LeftCondyle Point `json:"left_condyle" jsonschema:"required"`
	// third point of the reference plane (mm, scan frame), in front of the axis and off its line
	// by more than a hundredth of the distance of the condyles
	ReferencePoint Point `json:"reference_point" jsonschema:"required"`
}

// Landmarks are points for reporting.
type Landmarks struct {
	// middle of the mesio-incisal edges of 31 and 41 (mm, scan frame), for reporting, with the
	// other two mountings; the average mounting has its own
	//
	// Default: found on labels
	IncisalPoint *Point `json:"incisal_point,omitempty"`
}

// Plane is the horizontal plane to which condylar settings were
// measured.
type Plane string

// The reference planes.
const (
	OcclusalPlane    Plane = "occlusal"
	CamperPlane      Plane = "camper"
	FrankfortPlane   Plane = "frankfort"
	AxisOrbitalPlane Plane = "axis_orbital"
)

// Settings are the settings of the articulator.
type Settings struct {
	// distance of the condylar centres; with a recorded axis the recorded one
	//
	// Source: default: average of semi-adjustable articulators (trade convention); usual: dry
	// mandibles (93.4 to 97.4 on average) to points on the skin, two standard deviations above the
	// mean (Kochenborger et al.); possible: our choice
	IntercondylarMM float64 `json:"intercondylar_mm" jsonschema:"minimum=50,maximum=200" usual:"90,140"`
	// plane to which the condylar settings were measured, the horizontal plane of the articulator:
	// `occlusal`, `camper`, `frankfort` or `axis_orbital`
	ReferencePlane Plane `json:"reference_plane" jsonschema:"enum=occlusal,enum=camper,enum=frankfort,enum=axis_orbital"`
	// settings of the right condyle
	Right Side `json:"right"`
	// settings of the left condyle
	Left Side `json:"left"`
	// what limits the closing
	//
	// Default: by teeth
	Guidance Guidance `json:"guidance"`
}

// Side holds the settings of one condyle.
type Side struct {
	// sagittal condylar inclination H to the reference plane. With a recorded path it is the
	// inclination of the chord of the first 5 mm of the curve that is driven
	//
	// Source: default: mean to Camper's plane (40 to 45 to Frankfort); usual: means from 24 (wear
	// facets; Hobo & Takayama 1995, J Gnathology 14) to 53.5 (Frankfort), ± 12 as in 154 patients
	// (Appl Sci 2025, 15:10231); possible: our choice
	CondylarInclinationDeg float64 `json:"condylar_inclination_deg" jsonschema:"minimum=-20,maximum=80" usual:"12,66"`
	// progressive side shift (Bennett) angle of this condyle when it advances, seen from above
	//
	// Source: measured means are 7 to 9, textbooks give 7 to 30; possible: our choice
	SideShiftAngleDeg float64 `json:"side_shift_angle_deg" jsonschema:"minimum=0,maximum=60" usual:"0,30"`
	// `condylar_inclination` computes the side shift angle as H/8 + 12; then
	// `side_shift_angle_deg` is left out
	//
	// Source: "Articulation defined, analyzed and formulated", 1926, J Am Dent Assoc 13
	SideShiftAngleFrom AngleSource `json:"side_shift_angle_from,omitempty" jsonschema:"enum=condylar_inclination"`
	// immediate side shift
	//
	// Source: Taylor et al. 2016, J Prosthet Dent (23 studies); possible: our choice
	ImmediateSideShiftMM float64 `json:"immediate_side_shift_mm" jsonschema:"minimum=0,maximum=5" usual:"0,3"`
	// forward travel over which the immediate side shift is reached; 0 is at once
	//
	// Source: within 3 mm in 94 % of tracings: Son et al. 1998, J Prosthet Dent 80:672; default
	// and possible: our choice
	SideShiftTravelMM float64 `json:"side_shift_travel_mm" jsonschema:"minimum=0,maximum=10" usual:"0,3"`
	// turns the line on which this condyle slides when it is the working one from straight
	// outwards to the back, as seen from above; negative to the front. Each of the two angles is
	// what is seen along its own axis: outwards by 1 mm goes with tan(back) mm to posterior and
	// tan(up) mm to superior, whatever the other one is
	//
	// Source: all directions occur: Yang et al. 2000, J Oral Rehabil 27:911; ranges: our choice
	LaterotrusionBackDeg float64 `json:"laterotrusion_back_deg" jsonschema:"minimum=-60,maximum=60" usual:"-30,30"`
	// turns that line upwards, as seen from in front; negative downwards
	//
	// Source: as of `laterotrusion_back_deg`
	LaterotrusionUpDeg float64 `json:"laterotrusion_up_deg" jsonschema:"minimum=-60,maximum=60" usual:"-30,30"`
	// shape of the condylar path where it is not straight
	//
	// Default: straight
	Path *CondylarPath `json:"path,omitempty"`
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
	// radius of an arc, convex downwards, whose chord over the first 5 mm has the condylar
	// inclination
	//
	// Source: textbooks; possible: our choice
	ArcRadiusMM float64 `json:"arc_radius_mm,omitempty" jsonschema:"exclusiveMinimum=0,maximum=1000" usual:"5,20"`
	// recorded points `[forward, down]` in the sagittal plane, the first `[0, 0]`, each farther
	// forward than the one before and no steeper than 89.9°. The condyle is driven on the monotone
	// cubic through them (Fritsch & Butland 1984), which overshoots no point
	//
	// Source: our choice; an articular eminence is 6 to 7 high and 11.6 to 12.7 long (120 skulls)
	PointsMM [][2]float64 `json:"points_mm,omitempty" jsonschema:"minItems=2,maxItems=1000,minimum=-30,maximum=30"`
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
	// what limits the closing: `teeth`, an incisal `table`, or nothing (`free`)
	By Guide `json:"by" jsonschema:"required,enum=teeth,enum=table,enum=free"`
	// sagittal inclination of the incisal table
	//
	// Source: natural incisal guidance to 60: textbooks; default and possible: our choice
	InclinationDeg float64 `json:"inclination_deg" jsonschema:"minimum=0,maximum=80" usual:"0,60"`
	// inclination of its lateral wings
	//
	// Source: lateral guidance of teeth 48.3 ± 9.5 (PMC3620406); possible: our choice
	WingsDeg float64 `json:"wings_deg" jsonschema:"minimum=0,maximum=80" usual:"0,60"`
	// amount by which the incisal pin is raised
	//
	// Source: common practice, no source
	PinMM float64 `json:"pin_mm" jsonschema:"minimum=0,maximum=20" usual:"0,5"`
	// fixed opening of a free movement
	//
	// Source: possible: the range in which closing is searched; usual: terminal hinge rotation, as
	// textbooks give it; default: our choice
	OpeningDeg float64 `json:"opening_deg" jsonschema:"minimum=-8,maximum=20" usual:"0,13"`
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
	// `seat` presses the casts together until they lock, `lift` only removes overlap, `none` keeps
	// the relation in which the scans came
	How SettleTo `json:"how" jsonschema:"enum=seat,enum=lift,enum=none"`
	// how far from that relation, at any tooth, the casts may seat; otherwise the casts stay
	// lifted and are closed on the hinge
	//
	// Source: default: three times, and usual from, the 50 to which a bite scan is good: Kakali &
	// Halazonetis 2023, Korean J Orthod 53:254; usual to the 165 to 369 of bites scanned with one
	// side raised (J Dent Rehabil Appl Sci 34(1)); possible: our choice
	DoubtUm float64 `json:"doubt_um" jsonschema:"exclusiveMinimum=0,maximum=5000" usual:"50,400"`
	// point of the lower arch on which the pressing force acts (mm, scan frame)
	//
	// Default: middle of the posterior occlusal table
	//
	// Source: our choice
	PressPoint *Point `json:"press_point,omitempty"`
	// direction in which the lower arch is pressed, in the frame of the scans and of any length
	//
	// Default: normal of the lower occlusal plane
	//
	// Source: our choice
	PressDirection *Point `json:"press_direction,omitempty"`
}

// MarshalJSON writes the keys that belong to How: the word alone but for a seat.
func (s Settle) MarshalJSON() ([]byte, error) {
	if s.How != SettleSeat {
		return json.Marshal(s.How)
	}
	type all Settle
	return json.Marshal(all(s))
}

// Excursion is one movement to examine.
type Excursion struct {
	// where the jaw goes: to its `right` or `left`, or forwards (`protrusive`)
	Movement kinematics.Movement `json:"movement" jsonschema:"required"`
	// farthest travel of the advancing condyle along its path
	//
	// Source: usual: curved length of the articular eminence, 11.6 to 12.7 on 120 skulls
	// (PMC8734448); default and possible: our choice
	MaxMM float64 `json:"max_mm" jsonschema:"exclusiveMinimum=0,maximum=20" usual:"1,13"`
	// distance between samples, at most `max_mm`; at most 10000 samples
	//
	// Source: our choice, so that a contact is not stepped over
	StepMM float64 `json:"step_mm" jsonschema:"exclusiveMinimum=0,maximum=20" usual:"0.01,0.5"`
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
		Excursions: []Excursion{defaultExcursion(kinematics.Right), defaultExcursion(kinematics.Left), defaultExcursion(kinematics.Protrusive)},
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

func defaultExcursion(m kinematics.Movement) Excursion {
	return Excursion{Movement: m, MaxMM: 8, StepMM: 0.1}
}

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
