package findings

import (
	"slices"

	"github.com/cusptrace/cusptrace/pkg/language"
)

// Robustness says whether a finding survives a change of the settings that are averages
// unless they were recorded. The zero Robustness says nothing.
type Robustness struct {
	// whether it survives every change that was tried
	State RobustState `json:"state"`
	// settings of which a change makes it go; absent for none
	DependsOn []Setting `json:"depends_on,omitempty"`
	// settings with which it could not always be tried, since the condyles cannot go that way;
	// absent for none
	Untried []Setting `json:"untried,omitempty"`
}

// RobustState is the outcome of trying a finding with other settings.
type RobustState string

// The outcomes.
const (
	Robust   RobustState = "robust"
	Depends  RobustState = "depends"
	NotTried RobustState = "not_tried"
)

// Setting names what is changed to try a finding.
type Setting string

// The settings that are changed.
const (
	CondylarInclination Setting = "condylar_inclination"
	SideShiftAngle      Setting = "side_shift_angle"
	AxisPosition        Setting = "axis_position"
)

// NewRobustness is the robustness of a finding that was tried: the settings of which a
// change makes it go, and those with which it could not be tried.
func NewRobustness(dependsOn, untried []Setting) Robustness {
	r := Robustness{State: Robust, DependsOn: dependsOn, Untried: untried}
	if len(dependsOn) > 0 {
		r.State = Depends
	}
	return r
}

// Equal says whether two say the same.
func (r Robustness) Equal(q Robustness) bool {
	return r.State == q.State && slices.Equal(r.DependsOn, q.DependsOn) && slices.Equal(r.Untried, q.Untried)
}

// Sentence says the robustness; it is empty where nothing was tried.
func (r Robustness) Sentence() Sentence {
	with := language.With{"untried": settingNames(r.Untried)}
	switch r.State {
	case Robust:
		return language.Say("robust.robust", with)
	case Depends:
		with["settings"] = settingNames(r.DependsOn)
		return language.Say("robust.depends", with)
	}
	return Sentence{}
}

func settingNames(list []Setting) language.List {
	var out []Sentence
	for _, s := range list {
		out = append(out, language.Say("setting."+string(s)))
	}
	return language.And(out)
}
