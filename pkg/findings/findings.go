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
type Findings struct {
	Format     string              `json:"format" jsonschema:"enum=cusptrace-findings"`
	Version    int                 `json:"version" jsonschema:"enum=2"`
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
