package judge

import (
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// Tipped adds to the arches the teeth that are tipped, whether or not anything that interferes is
// on them, and returns the arches; nil where they are not labelled.
func (h *Shape) Tipped() *findings.Arches {
	a := h.arches
	if a == nil {
		return nil
	}
	var words []findings.Sentence
	told := map[dentition.ToothID]bool{}
	for _, c := range [2]*casts.Cast{h.casts.Upper, h.casts.Lower} {
		for t := range dentition.All {
			if told[t.Mirror()] { // with its twin
				continue
			}
			if _, stands := c.Frames[t]; !stands {
				continue
			}
			for _, cause := range h.tipped(c, t) {
				told[t] = true
				words = append(words, cause.Text)
				a.Tipped = append(a.Tipped, findings.ArchTipped{Tooth: findings.Part(t), AngleDeg: cause.Value, Text: cause.Text})
			}
		}
	}
	if len(words) > 0 {
		a.Text = language.Join(language.Text([]findings.Sentence{a.Text,
			language.Say("arch.tipped", language.With{"teeth": language.Semicolons(words)})}))
	}
	return a
}

// tipped is the cause that a tooth of a cast is tipped; none where it is not.
func (h *Shape) tipped(c *casts.Cast, t dentition.ToothID) []findings.Cause {
	return tippedCause(t, h.inRow(c, t).TippedDeg(), stanceOf(c, t), stanceOf(c, t.Mirror()))
}
