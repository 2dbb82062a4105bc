package findings

import (
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// Format and Version mark a findings file.
const (
	Format  = "cusptrace-findings"
	Version = 2
)

// Findings is what an examination found: the content of findings.json
// (docs/findings.md). Points are mm in the articulator frame, matrices 4×4 row-major, angles
// degrees.
//
// The comment of a field is its description in the schema and in docs/findings.md, which tests
// make from it. Null is a nil pointer or no tooth.
type Findings struct {
	// always `cusptrace-findings`
	Format string `json:"format" jsonschema:"enum=cusptrace-findings"`
	// always 2; fields may be added, none changes its meaning
	Version int `json:"version" jsonschema:"enum=2"`
	// name of the case; absent where it has none
	Name string `json:"name,omitempty"`
	// day of the examination as the case says it, `YYYY-MM-DD`; absent where it does not
	Date casefile.Date `json:"date,omitempty"`
	// files that were read, with their checksums; empty for a case that came from none
	Inputs []Input `json:"inputs"`
	// where the casts stand in the articulator
	Mount Mount `json:"mount"`
	// settings of the articulator as used, with defaults filled in: the keys of the case file
	Settings casefile.Settings `json:"settings"`
	// thresholds by which the examination judges, as used: the keys of the case file
	Thresholds casefile.Thresholds `json:"thresholds"`
	// how the summary and the page write teeth; this file and the tables keep ISO 3950
	Notation dentition.Notation `json:"notation"`
	// what is possible but unusual in the input
	Warnings []Sentence `json:"warnings"`
	// size and defects of the two surfaces
	Scans Scans `json:"scans"`
	// how the casts were brought from the given relation to where they seat
	Settling Settling `json:"settling"`
	// the casts closed on the hinge with the condyles in their closed position
	Centric Centric `json:"centric"`
	// where something beside the teeth would meet before them: gingiva, pads, ridges, bases; empty
	// where nothing does, or where the teeth of one arch are not labelled
	Tissue []Tissue `json:"tissue"`
	// what carries as the closing force rises and the teeth yield; null without labels on both
	// arches
	Yielding *Yielding `json:"yielding"`
	// the movements, in the order of the case
	Excursions []Excursion `json:"excursions"`
	// what was taken to be uncertain for the probabilities; null where no samples were taken
	Doubt *Doubt `json:"doubt"`
	// measurements of the arches; null without labels
	Arches *Arches `json:"arches"`
	// the mouth's record next to what the casts show; null where the case has none
	Record *Record `json:"record"`
	// paths of the supporting cusps in the two lateral movements; empty without labels or without
	// both movements
	CuspAngles []CuspAngle `json:"cusp_angles"`
	// wear facets and what would grind them, by teeth; empty without labels
	Facets []WearFacet `json:"facets"`
	// what to heed in restoring the teeth that the case names; empty where it names none
	Restore []Restoration `json:"restore"`
}

// Input is a file that was examined.
type Input struct {
	// what the file is
	Role InputRole `json:"role"`
	// name of the file as the case gives it; of the case file, its name alone
	File string `json:"file"`
	// SHA-256 of the bytes that were examined, hexadecimal
	SHA256 string `json:"sha256"`
}

// InputRole says what an input file is.
type InputRole string

// The roles of input files.
const (
	CaseFile    InputRole = "case_file"
	UpperScan   InputRole = "upper_scan"
	UpperLabels InputRole = "upper_labels"
	LowerScan   InputRole = "lower_scan"
	LowerLabels InputRole = "lower_labels"
	UpperAgain  InputRole = "upper_scan_again"
	LowerAgain  InputRole = "lower_scan_again"
)
