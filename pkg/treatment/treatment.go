// Package treatment is the document of a trial treatment on casts (trial.json): which spots
// were worked on, how deep or thick, what that frees, what was refused, and what the casts
// show afterwards. It computes nothing.
package treatment

import (
	"github.com/cusptrace/cusptrace/pkg/compare"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// Format and Version mark a file.
const (
	Format  = "cusptrace-trial"
	Version = 1
)

// Kind is what a step does.
type Kind string

// The kinds.
const (
	Adjust Kind = "adjust"
	Wax    Kind = "wax"
)

// Step is one spot that is worked on, or a step that was refused. Steps stand in the order
// in which they are carried out at the bench.
type Step struct {
	// order of work, from 1
	Number int `json:"number"`
	// step of the case that it belongs to, from 1
	Of   int  `json:"of"`
	Kind Kind `json:"kind" jsonschema:"enum=adjust,enum=wax"`
	// premature, nonworking, working or protrusive; for wax join, lead or form
	Stage string        `json:"stage"`
	Jaw   string        `json:"jaw" jsonschema:"enum=upper,enum=lower,enum="`
	Tooth findings.Part `json:"tooth"`
	// where on the tooth it is deepest or thickest
	Site string `json:"site"`
	// where it is deepest or thickest, in the articulator frame; null for a step that was refused
	PointMM  *findings.Vec     `json:"point_mm"`
	Movement findings.Movement `json:"movement,omitempty" jsonschema:"enum=right,enum=left,enum=protrusive,enum=centric"`
	// deepest removal, normal to the surface as it was
	DeepestUm float64 `json:"deepest_um,omitempty"`
	// deepest removal over samples of what may be wrong with settings, mounting and scans: it changes
	// as the height of the finding does; absent where no samples were taken
	RangeUm *findings.Spread `json:"range_um,omitempty"`
	// thickest wax, normal to the surface as it was
	ThickestUm float64 `json:"thickest_um,omitempty"`
	AreaMM2    float64 `json:"area_mm2"`
	VolumeMM3  float64 `json:"volume_mm3"`
	// opposing tooth and station that ask for it
	LimitedBy findings.Sentence `json:"limited_by,omitzero"`
	// for wax: which opposing teeth have shaped it, the largest area first; where none has reached
	// it the form itself has
	Shaped []Shaping `json:"shaped,omitempty"`
	// what goes away with it
	Frees []findings.Sentence `json:"frees"`
	// why nothing was done; absent where it was
	Refused findings.Sentence `json:"refused,omitzero"`
	// what to heed at this spot
	Warning findings.Sentence `json:"warning,omitzero"`
}

// Shaping is what an opposing tooth has shaped of wax in a movement.
type Shaping struct {
	Opposing findings.Part     `json:"opposing"`
	Movement findings.Movement `json:"movement" jsonschema:"enum=right,enum=left,enum=protrusive,enum=centric"`
	// travel at which it first and last does
	FromMM float64 `json:"from_mm"`
	ToMM   float64 `json:"to_mm"`
	// area of the wax that reaches as far as it leaves room
	AreaMM2 float64 `json:"area_mm2"`
}

// Stair is a level that closing would reach if the pairs above it were lowered.
type Stair struct {
	// the pair that meets at this level
	Upper findings.Part `json:"upper"`
	Lower findings.Part `json:"lower"`
	// by how much the pairs above must be lowered together along the arc of closing
	LowerUm []Lowered `json:"lower_um"`
	// how far the incisal point closes then; null where it is not known
	IncisalDropMM *float64 `json:"incisal_drop_mm"`
}

// Lowered is a pair and by how much it must be lowered.
type Lowered struct {
	Upper findings.Part `json:"upper"`
	Lower findings.Part `json:"lower"`
	Um    float64       `json:"um"`
}

// Treatment is a trial treatment: the content of trial.json. Points are mm in the
// articulator frame.
type Treatment struct {
	Format  string `json:"format" jsonschema:"enum=cusptrace-trial"`
	Version int    `json:"version" jsonschema:"enum=1"`
	// name of the case
	Name string `json:"name,omitempty"`
	// Summary is one line.
	Summary findings.Sentence `json:"summary"`
	// what follows for the bite
	Consequences []findings.Sentence `json:"consequences"`
	Cautions     []findings.Sentence `json:"cautions"`
	// levels of closing before the treatment, in the given relation
	Stairs []Stair `json:"stairs"`
	Steps  []Step  `json:"steps"`
	// centric stops kept, lost and new; the same as in findings
	Stops compare.Stops `json:"stops"`
	// by how much the incisal point stands higher when the casts are closed afterwards; null where it is not known
	IncisalDropMM *float64 `json:"incisal_drop_mm"`
	Findings      Changes  `json:"findings"`
}

// Changes is what the examinations before and after say differently.
type Changes struct {
	Gone []compare.Place `json:"gone"`
	New  []compare.Place `json:"new"`
	// findings of both whose height differs
	Changed []compare.Change `json:"changed"`
}

// Done counts the spots that were worked on.
func (t *Treatment) Done() int {
	n := 0
	for i := range t.Steps {
		if t.Steps[i].Refused.Empty() {
			n++
		}
	}
	return n
}
