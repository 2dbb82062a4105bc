package typodont

import (
	"encoding/json"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Point is a point (mm) or direction, in files [x, y, z].
type Point r3.Vec

// Vec is the point as a vector.
func (p Point) Vec() r3.Vec { return r3.Vec(p) }

// MarshalJSON writes [x, y, z] with all digits.
func (p Point) MarshalJSON() ([]byte, error) { return json.Marshal([3]float64{p.X, p.Y, p.Z}) }

// UnmarshalJSON reads [x, y, z].
func (p *Point) UnmarshalJSON(b []byte) error {
	var v [3]float64
	err := json.Unmarshal(b, &v)
	*p = Point{X: v[0], Y: v[1], Z: v[2]}
	return err
}

// Truth is what is known of a case by construction. Points and directions are in
// the articulator frame. Its form as a file is described in docs/typodont.md.
type Truth struct {
	IncisalPoint Point           `json:"incisal_point_mm"`
	RightMolar   Point           `json:"right_molar_mm"` // disto-buccal tip of 47
	LeftMolar    Point           `json:"left_molar_mm"`  // and of 37
	Teeth        []ToothTruth    `json:"teeth"`
	Stops        []Stop          `json:"stops"`
	Guidance     []GuidanceTruth `json:"guidance"`
	Facets       []FacetTruth    `json:"facets"`
	Expected     []Expected      `json:"expected"`
}

// ToothTruth is one tooth: its handbook sizes, the frame it stands in and its
// named points.
type ToothTruth struct {
	Tooth    int     `json:"tooth"` // ISO 3950
	LengthMM float64 `json:"crown_length_mm"`
	WidthMM  float64 `json:"mesiodistal_mm"`
	DepthMM  float64 `json:"buccolingual_mm"`
	// Origin lies on the long axis at the level of the highest tip or the edge;
	// Occlusal is the long axis. The directions are unit vectors.
	Origin   Point `json:"origin_mm"`
	Mesial   Point `json:"mesial"`
	Buccal   Point `json:"buccal"`
	Occlusal Point `json:"occlusal"`
	// InclinationDeg is the lean of the facial surface at mid-crown to the
	// vertical, + labial.
	InclinationDeg float64      `json:"inclination_deg"`
	Displaced      bool         `json:"displaced,omitempty"`
	Cusps          []PointTruth `json:"cusps"`
	Features       []PointTruth `json:"features"`
}

// PointTruth is a named point of a tooth's surface.
type PointTruth struct {
	Name       string `json:"name"`
	Point      Point  `json:"point_mm"`
	Supporting bool   `json:"supporting,omitempty"`
}

// GuidanceTruth is how a movement is led before any disturbance.
type GuidanceTruth struct {
	Movement string  `json:"movement"`
	Upper    []int   `json:"upper"`
	Lower    []int   `json:"lower"`
	Point    Point   `json:"guide_point_mm"` // of the lower arch in intercuspation
	SlopeDeg float64 `json:"slope_deg"`
	// ToMM is the travel up to which the guidance holds.
	ToMM     float64        `json:"to_mm"`
	Openings []OpeningTruth `json:"openings"`
}

// OpeningTruth is the opening at one travel.
type OpeningTruth struct {
	TravelMM   float64 `json:"travel_mm"`
	OpeningDeg float64 `json:"opening_deg"`
}

// FacetTruth is a flat ground on a tooth. The normal points out of the tooth,
// the way is the direction in which the lower tooth slides.
type FacetTruth struct {
	Tooth    int     `json:"tooth"`
	Partner  int     `json:"partner"`
	Movement string  `json:"movement"`
	AreaMM2  float64 `json:"area_mm2"`
	Point    Point   `json:"point_mm"`
	Normal   Point   `json:"normal"`
	Way      Point   `json:"way"`
}

// Expected is a finding that a disturbance shall bring. Fields that do not apply
// are zero.
type Expected struct {
	Kind     string `json:"kind"`
	Movement string `json:"movement,omitempty"` // none: in intercuspation
	Tooth    int    `json:"tooth,omitempty"`    // that was disturbed
	Cusp     string `json:"cusp,omitempty"`
	Upper    int    `json:"upper,omitempty"`
	Lower    int    `json:"lower,omitempty"`
	// TravelMM is where it is strongest, FromMM and ToMM where it begins and
	// ends.
	TravelMM   float64 `json:"travel_mm,omitempty"`
	FromMM     float64 `json:"from_mm,omitempty"`
	ToMM       float64 `json:"to_mm,omitempty"`
	SizeUm     float64 `json:"size_um,omitempty"`
	OpeningDeg float64 `json:"opening_deg,omitempty"`
	AngleDeg   float64 `json:"angle_deg,omitempty"`
	Point      Point   `json:"point_mm,omitzero"`
}

// facialInclination is the lean of the facial surface at mid-crown against the
// vertical, + labial, degrees.
func (t *tooth) facialInclination() float64 {
	at := func(o float64) r3.Vec {
		lo, hi := 0.0, t.crown.bl
		for range 40 {
			mid := (lo + hi) / 2
			if t.crown.wall.value(0, mid, 1+o/t.crown.length) < 0 {
				lo = mid
			} else {
				hi = mid
			}
		}
		return t.world(0, lo, o)
	}
	l := t.crown.length
	d := r3.Sub(at(-0.45*l), at(-0.55*l))
	up := d.Z
	if t.code < 30 {
		up = -up
	}
	out := r3.Vec{X: t.b.X, Y: t.b.Y}
	return math.Atan2(r3.Dot(d, out)/r3.Norm(out), up) * 180 / pi
}

// describe fills in what is known of the teeth. Named points lie on the finished
// surfaces: the tip of a cusp, the highest vertex near a feature's place.
func (s *scan) describe(truth *Truth) {
	for i := range s.teeth {
		t := &s.teeth[i]
		if t.gone {
			continue
		}
		c := t.crown
		out := ToothTruth{Tooth: t.code, LengthMM: c.length, WidthMM: c.md, DepthMM: c.bl, Origin: Point(t.org),
			Mesial: Point(t.m), Buccal: Point(t.b), Occlusal: Point(t.o),
			InclinationDeg: t.facialInclination(), Displaced: t.moved}
		for k, q := range c.cusps {
			out.Cusps = append(out.Cusps, PointTruth{q.name, Point(s.tipOf(i, k)), q.supporting})
		}
		for _, q := range c.named {
			out.Features = append(out.Features, PointTruth{q.name, Point(s.highest(i, q.m, q.b, 0.25)), false})
		}
		truth.Teeth = append(truth.Teeth, out)
	}
}

// highest is the vertex of a tooth farthest along its axis within r (mm) of
// local (m, b); where there is none, the nearest one in the plan.
func (s *scan) highest(tooth int, m, b, r float64) r3.Vec {
	t := &s.teeth[tooth]
	best, at := math.Inf(-1), t.surfaceAt(m, b)
	near := math.Inf(1)
	for i, v := range s.verts {
		if s.tooth[i] != tooth {
			continue
		}
		x, y, o := t.local(v)
		d := math.Hypot(x-m, y-b)
		if o < -0.6*t.crown.length {
			continue
		}
		if d <= r && o > best {
			best, at = o, v
		} else if math.IsInf(best, -1) && d < near {
			near, at = d, v
		}
	}
	return at
}

// guidance tells how the movements are led.
func (p *pair) guidance() []GuidanceTruth {
	var out []GuidanceTruth
	for _, g := range p.guides {
		t := GuidanceTruth{Movement: g.movement.String(), Point: Point(g.point), SlopeDeg: g.slope.Degrees(), ToMM: p.guided(g, 0.7)}
		for _, s := range p.stops {
			if g.leads(s.Lower) {
				t.Upper, t.Lower = append(t.Upper, s.Upper), append(t.Lower, s.Lower)
			}
		}
		for i := 0; float64(i)*sweepStep <= t.ToMM+1e-9; i++ {
			travel := float64(i) * sweepStep
			if _, open, err := g.pose(p.settings, travel); err == nil {
				t.Openings = append(t.Openings, OpeningTruth{travel, open.Degrees()})
			}
		}
		out = append(out, t)
	}
	return out
}
