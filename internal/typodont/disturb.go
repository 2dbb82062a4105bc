package typodont

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Kind is a kind of disturbance.
type Kind string

// The kinds. In brackets: the fields that count and their defaults.
const (
	// Raise brings a tooth's crown, or one cusp of it where Cusp is given, closer
	// to the opposing teeth, along the arc of the closing jaw [Tooth, Cusp, Um
	// 150].
	Raise Kind = "raise"
	// Drift moves a tooth to mesial (negative: distal) [Tooth, MM 1].
	Drift Kind = "drift"
	// Tip tilts a tooth's crown to mesial about its neck [Tooth, Degrees 10].
	Tip Kind = "tip"
	// Rotate turns a tooth about its axis [Tooth, Degrees 15].
	Rotate Kind = "rotate"
	// Interference adds an obstacle on a lower posterior tooth of the nonworking side
	// that meets the upper arch at a travel [Tooth, Movement, MM 2, Um 200].
	Interference Kind = "interference"
	// FlatCanine wears the cusp of an upper canine down, which then guides less deep
	// [Tooth 13, MM 1.5].
	FlatCanine Kind = "flat_canine"
	// Incisor lengthens (Um > 0) or shortens a lower incisor, so that it or its
	// neighbour leads protrusion alone [Tooth 31, Um -150].
	Incisor Kind = "incisor"
	// Missing takes a tooth out; the gingiva is healed over [Tooth].
	Missing Kind = "missing"
	// OpenAnterior lifts the six upper anterior teeth out of contact [MM 3].
	OpenAnterior Kind = "open_anterior"
	// Facet grinds a stop of a tooth flat along the way of a movement, on both
	// teeth [Tooth, Cusp, Movement, Um 120].
	Facet Kind = "facet"
	// Noise moves every vertex along its normal at random, correlated over MM
	// [Um 15 (root mean square), MM 0.8]. It uses the seed.
	Noise Kind = "noise"
	// Hole takes out the triangles around the middle of a tooth's buccal wall
	// [Tooth, MM 1 (radius)].
	Hole Kind = "hole"
	// Island copies such a patch to float 2 mm outside [Tooth, MM 1].
	Island Kind = "island"
	// Flipped turns the triangles of such a patch inside out [Tooth, MM 1].
	Flipped Kind = "flipped"
)

// A Disturbance is one fault built into the pair.
type Disturbance struct {
	Kind     Kind    `json:"kind"`
	Tooth    int     `json:"tooth,omitempty"` // ISO 3950
	Cusp     string  `json:"cusp,omitempty"`
	Movement string  `json:"movement,omitempty"` // right, left or protrusive
	Um       float64 `json:"um,omitempty"`
	MM       float64 `json:"mm,omitempty"`
	Degrees  float64 `json:"degrees,omitempty"`
}

// kinds lists what each kind needs, its defaults and its largest amounts.
var kinds = []struct {
	Disturbance          // defaults
	tooth, movement bool // needed
	most            Disturbance
}{
	{Disturbance: Disturbance{Kind: Raise, Um: 150}, tooth: true, most: Disturbance{Um: 600}},
	{Disturbance: Disturbance{Kind: Drift, MM: 1}, tooth: true, most: Disturbance{MM: 3}},
	{Disturbance: Disturbance{Kind: Tip, Degrees: 10}, tooth: true, most: Disturbance{Degrees: 25}},
	{Disturbance: Disturbance{Kind: Rotate, Degrees: 15}, tooth: true, most: Disturbance{Degrees: 45}},
	{Disturbance: Disturbance{Kind: Interference, Um: 200, MM: 2}, tooth: true, movement: true, most: Disturbance{Um: 500, MM: 3.5}},
	{Disturbance: Disturbance{Kind: FlatCanine, Tooth: 13, MM: 1.5}, tooth: true, most: Disturbance{MM: 2}},
	{Disturbance: Disturbance{Kind: Incisor, Tooth: 31, Um: -150}, tooth: true, most: Disturbance{Um: 600}},
	{Disturbance: Disturbance{Kind: Missing}, tooth: true},
	{Disturbance: Disturbance{Kind: OpenAnterior, MM: 3}, most: Disturbance{MM: 5}},
	{Disturbance: Disturbance{Kind: Facet, Um: 120}, tooth: true, movement: true, most: Disturbance{Um: 300}},
	{Disturbance: Disturbance{Kind: Noise, Um: 15, MM: 0.8}, most: Disturbance{Um: 100, MM: 10}},
	{Disturbance: Disturbance{Kind: Hole, MM: 1}, tooth: true, most: Disturbance{MM: 3}},
	{Disturbance: Disturbance{Kind: Island, MM: 1}, tooth: true, most: Disturbance{MM: 3}},
	{Disturbance: Disturbance{Kind: Flipped, MM: 1}, tooth: true, most: Disturbance{MM: 3}},
}

// ParseDisturbance reads the form of the command line: the kind, then key=value
// pairs with the keys tooth, cusp, movement, um, mm and degrees, separated by
// commas: "raise,tooth=26,cusp=mesiopalatal,um=150".
func ParseDisturbance(s string) (Disturbance, error) {
	parts := strings.Split(s, ",")
	d := Disturbance{Kind: Kind(strings.TrimSpace(parts[0]))}
	for _, part := range parts[1:] {
		key, value, ok := strings.Cut(part, "=")
		if !ok {
			return d, fmt.Errorf("%w: %q in %q is not key=value", ErrParams, part, s)
		}
		key, value = strings.TrimSpace(key), strings.TrimSpace(value)
		var err error
		switch key {
		case "tooth":
			d.Tooth, err = strconv.Atoi(value)
		case "cusp":
			d.Cusp = value
		case "movement":
			d.Movement = value
		case "um":
			d.Um, err = strconv.ParseFloat(value, 64)
		case "mm":
			d.MM, err = strconv.ParseFloat(value, 64)
		case "degrees":
			d.Degrees, err = strconv.ParseFloat(value, 64)
		default:
			return d, fmt.Errorf("%w: key %q in %q; there are tooth, cusp, movement, um, mm, degrees", ErrParams, key, s)
		}
		if err != nil {
			return d, fmt.Errorf("%w: %s in %q is no number: %q", ErrParams, key, s, value)
		}
	}
	return d.withDefaults(7)
}

// withDefaults fills in and checks a disturbance of arches with the given number
// of teeth a half jaw.
func (d Disturbance) withDefaults(places int) (Disturbance, error) {
	names := make([]string, len(kinds))
	for i, k := range kinds {
		names[i] = string(k.Kind)
		if k.Kind != d.Kind {
			continue
		}
		if d.Tooth == 0 {
			d.Tooth = k.Tooth
		}
		if k.tooth && !standsIn(d.Tooth, places) {
			return d, fmt.Errorf("%w: %s needs a tooth of the arches, not %d", ErrParams, d.Kind, d.Tooth)
		}
		if k.movement && !slices.Contains([]string{"right", "left", "protrusive"}, d.Movement) {
			return d, fmt.Errorf("%w: %s needs a movement right, left or protrusive, not %q", ErrParams, d.Kind, d.Movement)
		}
		for _, f := range []struct {
			name      string
			v         *float64
			def, most float64
		}{{"um", &d.Um, k.Um, k.most.Um}, {"mm", &d.MM, k.MM, k.most.MM}, {"degrees", &d.Degrees, k.Degrees, k.most.Degrees}} {
			if *f.v == 0 {
				*f.v = f.def
			}
			if !(math.Abs(*f.v) <= f.most) {
				return d, fmt.Errorf("%w: %s of %s is %g, at most %g", ErrParams, f.name, d.Kind, *f.v, f.most)
			}
		}
		return d, d.fits()
	}
	return d, fmt.Errorf("%w: disturbance %q; there are %s", ErrParams, d.Kind, strings.Join(names, ", "))
}

// fits checks that the tooth suits the kind.
func (d Disturbance) fits() error {
	place, quadrant := d.Tooth%10, d.Tooth/10
	switch d.Kind {
	case FlatCanine:
		if place != 3 || quadrant > 2 {
			return fmt.Errorf("%w: flat_canine is for 13 and 23, not %d", ErrParams, d.Tooth)
		}
	case Incisor:
		if place > 2 || quadrant < 3 {
			return fmt.Errorf("%w: incisor is for lower incisors, not %d", ErrParams, d.Tooth)
		}
	case Interference:
		nonworking := map[string]int{"right": 3, "left": 4}[d.Movement]
		if place < 6 || quadrant != nonworking {
			return fmt.Errorf("%w: interference is for the lower molars of the nonworking side of a lateral movement, "+
				"not %d in %s", ErrParams, d.Tooth, d.Movement)
		}
	}
	return nil
}

func standsIn(code, places int) bool {
	return code/10 >= 1 && code/10 <= 4 && code%10 >= 1 && code%10 <= places
}

// displace applies the disturbances that move whole teeth.
func (p *pair) displace(list []Disturbance) {
	for _, d := range list {
		switch d.Kind {
		case Drift:
			p.move(d.Tooth, func(t *tooth) {
				t.frame.org = t.world(d.MM, 0, 0)
			})
		case Tip:
			p.move(d.Tooth, func(t *tooth) {
				neck := t.world(0, 0, -t.crown.length)
				t.angulate(d.Degrees * pi / 180)
				t.frame.org = addScaled(neck, t.crown.length, t.o)
			})
		case Rotate:
			p.move(d.Tooth, func(t *tooth) { t.rotate(d.Degrees * pi / 180) })
		case Missing:
			p.upper.lose(d.Tooth)
			p.lower.lose(d.Tooth)
		case OpenAnterior:
			for _, code := range []int{13, 12, 11, 21, 22, 23} {
				p.move(code, func(t *tooth) { t.frame.org = t.world(0, 0, -d.MM) })
			}
		}
	}
}

func (p *pair) move(code int, f func(*tooth)) {
	for _, a := range []*arch{p.upper, p.lower} {
		if t := a.find(code); t != nil {
			f(t)
			t.settle()
			t.moved = true
		}
	}
}

// expectDisplaced says what moved and missing teeth bring.
func (p *pair) expectDisplaced(list []Disturbance, truth *Truth) {
	for _, d := range list {
		e := Expected{Tooth: d.Tooth}
		switch d.Kind {
		case Drift:
			e.Kind, e.SizeUm = "drifted_tooth", d.MM*1000
		case Tip:
			e.Kind, e.AngleDeg = "tipped_tooth", d.Degrees
		case Rotate:
			e.Kind, e.AngleDeg = "rotated_tooth", d.Degrees
		case Missing:
			e.Kind = "missing_tooth"
		case OpenAnterior:
			e.Kind, e.SizeUm = "open_bite", d.MM*1000
		default:
			continue
		}
		truth.Expected = append(truth.Expected, e)
	}
}
