package occlusion

import (
	"encoding/json"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"gonum.org/v1/gonum/spatial/r3"
)

// Format and Version mark a findings file.
const (
	Format  = "cusptrace-findings"
	Version = 1
)

// Findings is what an examination found: the content of findings.json
// (docs/findings.md). Points are mm in the articulator frame, matrices 4×4 row-major, angles
// degrees.
type Findings struct {
	Format     string              `json:"format" jsonschema:"enum=cusptrace-findings"`
	Version    int                 `json:"version" jsonschema:"enum=1"`
	Name       string              `json:"name,omitempty" jsonschema_description:"name of the case"`
	Mount      Mount               `json:"mount"`
	Settings   casefile.Settings   `json:"settings" jsonschema_description:"settings as used, with defaults filled in"`
	Thresholds casefile.Thresholds `json:"thresholds" jsonschema_description:"borders by which the examination judges, as used"`
	Notation   dentition.Notation  `json:"notation" jsonschema_description:"how summary and page write teeth; this file keeps ISO 3950"`
	Warnings   []string            `json:"warnings" jsonschema_description:"what is possible but unusual in the input"`
	Scans      Scans               `json:"scans"`
	Settling   Settling            `json:"settling"`
	Centric    Centric             `json:"centric"`
	// Yielding is what carries as the closing force rises and the teeth give; nil
	// without labels on both arches.
	Yielding   *Yielding   `json:"yielding" jsonschema_description:"what carries as the closing force rises and the teeth give; null without labels on both arches"`
	Excursions []Excursion `json:"excursions"`
	// Arches is what is measured on the arches; nil without labels.
	Arches *Arches `json:"arches" jsonschema_description:"measurements of the arches; null without labels"`
	// Record is the mouth's record beside the casts; nil where the case has none.
	Record     *Record     `json:"record" jsonschema_description:"the mouth's record beside what the casts show; null where the case has none"`
	CuspAngles []CuspAngle `json:"cusp_angles" jsonschema_description:"ways of the supporting cusps in the two lateral movements; empty without labels or without both movements"`
	// Facets are the wear facets, by teeth; empty without labels.
	Facets []WearFacet `json:"facets" jsonschema_description:"wear facets and what would grind them, by teeth; empty without labels"`
	// Restore is what to heed for the teeth that the case names.
	Restore []Restoration `json:"restore" jsonschema_description:"what to heed in restoring the teeth that the case names; empty where it names none"`
}

// Mount is where the casts stand.
type Mount struct {
	ScanToArticulator [16]float64 `json:"scan_to_articulator" jsonschema_description:"rigid motion from the scans' frame to the articulator's, mm"`
	How               string      `json:"how" jsonschema:"enum=average,enum=recorded,enum=matrix"`
	PointsFound       bool        `json:"points_found" jsonschema_description:"the mounting points were found on the labelled arch, not given"`
	IncisalPointMM    *Vec        `json:"incisal_point_mm" jsonschema_description:"lower incisal point at rest; null where it is not known"`
}

// Scans describes the two surfaces.
type Scans struct {
	Upper ScanInfo `json:"upper"`
	Lower ScanInfo `json:"lower"`
}

// ScanInfo is the size and the defects of one scan.
type ScanInfo struct {
	Triangles           int                 `json:"triangles"`
	Vertices            int                 `json:"vertices"`
	Components          int                 `json:"components"`
	BoundaryLoops       int                 `json:"boundary_loops"`
	NonManifoldEdges    int                 `json:"non_manifold_edges"`
	InconsistentEdges   int                 `json:"inconsistent_edges"`
	DuplicateTriangles  int                 `json:"duplicate_triangles"`
	DegenerateTriangles int                 `json:"degenerate_triangles"`
	Teeth               []dentition.ToothID `json:"teeth" jsonschema_description:"labelled teeth; empty without labels"`
	Labels              LabelsFrom          `json:"labels" jsonschema:"enum=file,enum=shape,enum=none" jsonschema_description:"where the labels come from: a file, found from the shape, or none"`
	Found               []FoundTooth        `json:"found" jsonschema_description:"the teeth that were found from the shape, with how sure each is"`
}

// Centric is the casts closed on the hinge, with the condyles at rest.
type Centric struct {
	OpeningDeg float64        `json:"opening_deg" jsonschema_description:"opening at first touch; above 0 a premature spot or overlap holds the casts open"`
	Pose       [16]float64    `json:"pose"`
	Contacts   []Contact      `json:"contacts"`
	Teeth      []CentricTooth `json:"teeth"`
	// Stops are the contacts of the thinnest foil between labelled teeth.
	Stops     []Stop       `json:"stops" jsonschema_description:"where labelled teeth touch within the thinnest foil; empty without labels on both arches"`
	Support   []ToothStops `json:"support" jsonschema_description:"how the stops hold each labelled tooth"`
	StopsText Sentence     `json:"stops_text" jsonschema_description:"the stops in words"`
	FoilText  Sentence     `json:"foil_text" jsonschema_description:"what thin foil does at each tooth and supporting cusp, in words"`
	Mounting  Mounting     `json:"mounting" jsonschema_description:"whether the mounting can be trusted"`
}

// CentricTooth is how near a tooth comes to the opposing arch in centric.
type CentricTooth struct {
	Tooth Part              `json:"tooth"`
	GapUm float64           `json:"gap_um"`
	Class HoldClass         `json:"class" jsonschema:"enum=holds,enum=light_drag,enum=undecided,enum=passes" jsonschema_description:"what thin foil would do, as far as the scans can tell"`
	Foil  map[string]string `json:"foil" jsonschema_description:"holds or free, by foil thickness in micrometres"`
}

// Excursion is one movement.
type Excursion struct {
	Movement string  `json:"movement" jsonschema:"enum=right,enum=left,enum=protrusive"`
	Frames   []Frame `json:"frames"`
	// Findings are judgements about the movement, most important first.
	Findings   []Finding    `json:"findings"`
	Guidance   *Course      `json:"guidance,omitempty" jsonschema_description:"who carries; absent where the guidance is not by teeth"`
	Disclusion []Disclusion `json:"disclusion" jsonschema_description:"how the back teeth come clear; empty without labels"`
	Smoothness *Smoothness  `json:"smoothness,omitempty"`
	CuspPaths  []CuspPath   `json:"cusp_paths" jsonschema_description:"ways of the supporting cusps over the opposing teeth; empty without labels"`
	// EndedMM and Ended say where and why a movement ended before its last
	// sample: the casts no longer meet.
	EndedMM *float64 `json:"ended_mm,omitempty" jsonschema_description:"travel from which on the casts no longer meet, where the movement ends early"`
	Ended   string   `json:"ended,omitempty"`
}

// Frame is one position of a movement.
type Frame struct {
	TravelMM     float64            `json:"travel_mm"`
	OpeningDeg   float64            `json:"opening_deg"`
	Pose         [16]float64        `json:"pose"`
	IncisalPoint *Vec               `json:"incisal_point_mm" jsonschema_description:"lower incisal point in this pose; null where it is not known"`
	Contacts     []Contact          `json:"contacts"`
	ClearanceMM  map[string]float64 `json:"clearance_mm" jsonschema_description:"least gap of each tooth to the whole opposing arch, by ISO 3950 code, or by upper and lower without labels"`
	Carrier      *Touch             `json:"carrier,omitempty" jsonschema_description:"the pair that stops the closing; absent where the guidance is not by teeth"`
	Unhindered   *Unhindered        `json:"unhindered,omitempty" jsonschema_description:"how the casts would close if back teeth that should not carry did not; absent where none carries"`
	Interference *Interference      `json:"interference,omitempty" jsonschema_description:"where the guidance is not by teeth and teeth would meet before it"`
}

// Touch is the exact first touch of a closing.
type Touch struct {
	Upper   Part `json:"upper"`
	Lower   Part `json:"lower"`
	PointMM Vec  `json:"point_mm"`
}

// Interference is teeth that meet before the guidance does.
type Interference struct {
	Touch
	OpeningDeg float64 `json:"opening_deg" jsonschema_description:"opening at which the teeth meet"`
	HeightUm   float64 `json:"height_um" jsonschema_description:"way of the touching point between this opening and that of the guidance"`
}

// Contact is a patch of the upper surface within a foil's thickness of the
// lower one.
type Contact struct {
	Upper      Part    `json:"upper"`
	Lower      Part    `json:"lower"`
	PointMM    Vec     `json:"point_mm" jsonschema_description:"where the gap is least, on the upper surface"`
	CentreMM   Vec     `json:"centre_mm" jsonschema_description:"area-weighted middle of the patch"`
	Normal     Vec     `json:"normal" jsonschema_description:"mean unit normal, from the lower to the upper arch"`
	AreaMM2    float64 `json:"area_mm2"`
	GapUm      float64 `json:"gap_um"`
	OverlapUm  float64 `json:"overlap_um,omitempty" jsonschema_description:"how far the upper surface lies behind the lower one, where they overlap"`
	FoilUm     float64 `json:"foil_um"`
	InclineDeg Incline `json:"incline_deg"`
}

// Incline is the angle between the mean outward normal of the patch and the
// tooth's long axis: 0° loads the tooth along its axis, 90° across it. Null
// where there is no tooth.
type Incline struct {
	Upper *float64 `json:"upper"`
	Lower *float64 `json:"lower"`
}

// Part is a tooth, or none: a contact off the labelled teeth, or a whole arch
// without labels. It is written as the ISO 3950 code or null.
type Part dentition.ToothID

// MarshalJSON implements json.Marshaler.
func (p Part) MarshalJSON() ([]byte, error) {
	if dentition.ToothID(p) == dentition.NoTooth {
		return []byte("null"), nil
	}
	return json.Marshal(dentition.ToothID(p).String())
}

// UnmarshalJSON implements json.Unmarshaler.
func (p *Part) UnmarshalJSON(b []byte) error {
	*p = Part(dentition.NoTooth)
	if string(b) == "null" {
		return nil
	}
	var s string
	if err := json.Unmarshal(b, &s); err != nil {
		return err
	}
	t, err := dentition.ParseTooth(s)
	*p = Part(t)
	return err
}

// String is the ISO 3950 code, or a dash for none.
func (p Part) String() string {
	if dentition.ToothID(p) == dentition.NoTooth {
		return "–"
	}
	return dentition.ToothID(p).String()
}

// Vec is a point or direction, written as [x, y, z].
type Vec [3]float64

func vec(v r3.Vec) Vec { return Vec{v.X, v.Y, v.Z} }

func (v Vec) vec() r3.Vec { return r3.Vec{X: v[0], Y: v[1], Z: v[2]} }
