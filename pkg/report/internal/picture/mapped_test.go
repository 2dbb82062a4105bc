package picture

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/report/internal/paint"
	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/spatial/r3"
)

// A triangle with a corner beyond the map has no colours of clearance anywhere, on its rim
// neither, where a weight may be 0 or a rounding below it.
func TestNoColoursBesideACornerBeyondTheMap(t *testing.T) {
	a := &Arch{clearance: []float64{math.Inf(1), 0.2, 0.3}}
	base := paint.RGB{0.1, 0.2, 0.3}
	for _, w := range [][3]float64{{0, 0.5, 0.5}, {-1e-10, 0.5, 0.5}, {0.2, 0.4, 0.4}} {
		for _, c := range [][3]int32{{0, 1, 2}, {0, 0, 1}} {
			assert.Equal(t, base, mapped(paint.New(), a, c, w, r3.Vec{}, base))
		}
	}
	a.clearance[0] = 0.2
	assert.NotEqual(t, base, mapped(paint.New(), a, [3]int32{0, 1, 2}, [3]float64{0.2, 0.4, 0.4}, r3.Vec{}, base))
}
