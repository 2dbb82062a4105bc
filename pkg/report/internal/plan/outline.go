package plan

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// sectors is the number of corners of an outline.
const sectors = 48

// place is a point of the chart, mm: x to the patient's left, y down the page.
type place struct{ x, y float64 }

func (p place) to(q place, t float64) place { return place{p.x + t*(q.x-p.x), p.y + t*(q.y-p.y)} }

func (p place) far(q place) float64 { return math.Hypot(q.x-p.x, q.y-p.y) }

// seen is where a point of an arch lies on the chart: the upper arch is looked at from
// below with the incisors up, the lower one from above with the incisors down, both with
// the patient's right on the left.
func seen(jaw dentition.Jaw, p r3.Vec) place {
	if jaw == dentition.Lower {
		return place{p.X, -p.Y}
	}
	return place{p.X, p.Y}
}

// outlined is a tooth of the chart.
type outlined struct {
	tooth  dentition.ToothID
	centre place
	rim    []place
}

// outlines are the crowns of an arch as they are seen from above: in each of the sectors
// about the middle of a crown its farthest vertex. at takes a vertex to where it stands.
func outlines(jaw dentition.Jaw, s *display.Surface, at func(r3.Vec) r3.Vec) []outlined {
	spots := map[dentition.ToothID][]place{}
	for i, t := range s.Teeth {
		if t != dentition.NoTooth {
			spots[t] = append(spots[t], seen(jaw, at(s.Mesh.Vertex(mesh.VertexID(i)))))
		}
	}
	var out []outlined
	for t, list := range spots {
		if o, ok := rimOf(list); ok {
			o.tooth = t
			out = append(out, o)
		}
	}
	slices.SortFunc(out, func(a, b outlined) int { return int(a.tooth) - int(b.tooth) })
	return out
}

// rimOf is the outline of some spots; not ok where they do not surround their middle.
func rimOf(list []place) (o outlined, ok bool) {
	lo, hi := list[0], list[0]
	for _, p := range list {
		lo, hi = place{min(lo.x, p.x), min(lo.y, p.y)}, place{max(hi.x, p.x), max(hi.y, p.y)}
	}
	o.centre = lo.to(hi, 0.5)
	var radius [sectors]float64
	for _, p := range list {
		turn := math.Atan2(p.y-o.centre.y, p.x-o.centre.x) / (2 * math.Pi)
		k := int((turn+1)*sectors) % sectors
		radius[k] = max(radius[k], o.centre.far(p))
	}
	for k := range radius {
		// The median of three, which a stray vertex does not move; empty sectors take that
		// of their neighbours.
		three := []float64{radius[(k+sectors-1)%sectors], radius[k], radius[(k+1)%sectors]}
		slices.Sort(three)
		r := three[1]
		if r == 0 {
			r = three[2]
		}
		if r == 0 {
			continue
		}
		sin, cos := math.Sincos(2 * math.Pi * (float64(k) + 0.5) / sectors)
		o.rim = append(o.rim, place{o.centre.x + r*cos, o.centre.y + r*sin})
	}
	return o, len(o.rim) >= sectors/2
}
