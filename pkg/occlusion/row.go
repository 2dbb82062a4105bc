package occlusion

import (
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// placed is how a tooth of a cast stands in its row; nothing where that is not known.
func (e *examination) placed(c *casts.Cast, t dentition.ToothID) casts.Placed {
	return e.rows[c.Jaw]()[t]
}
