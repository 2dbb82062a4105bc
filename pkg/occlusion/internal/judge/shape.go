package judge

import (
	"sync"

	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// Shape is what of the shape of the casts explains what a movement shows.
type Shape struct {
	casts  *casts.Casts
	arches *findings.Arches // nil without labels
	// rows are how the teeth stand in their rows, found when first needed.
	rows map[dentition.Jaw]func() map[dentition.ToothID]casts.Placed
}

// NewShape prepares the search for causes in the shape of the casts.
func NewShape(pair *casts.Casts, arches *findings.Arches) *Shape {
	return &Shape{casts: pair, arches: arches, rows: map[dentition.Jaw]func() map[dentition.ToothID]casts.Placed{
		dentition.Upper: sync.OnceValue(pair.Upper.InRows), dentition.Lower: sync.OnceValue(pair.Lower.InRows),
	}}
}

// inRow is how a tooth of a cast stands in its row; nothing where that is not known.
func (s *Shape) inRow(c *casts.Cast, t dentition.ToothID) casts.Placed {
	return s.rows[c.Jaw]()[t]
}
