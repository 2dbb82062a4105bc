package page

import (
	"fmt"
	"strconv"

	"github.com/cusptrace/cusptrace/pkg/findings"
)

// place3D is a moment and a place that the 3D view can be taken to.
type place3D struct {
	Movement findings.Movement
	TravelMM float64
	Point    *[3]float64
}

// Link is the fragment that the view understands.
func (p *place3D) Link() string {
	s := fmt.Sprintf("at=%s:%s", p.Movement, strconv.FormatFloat(p.TravelMM, 'g', -1, 64))
	if q := p.Point; q != nil {
		s += fmt.Sprintf(":%.2f,%.2f,%.2f", q[0], q[1], q[2])
	}
	return s
}
