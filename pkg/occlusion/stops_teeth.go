package occlusion

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// ToothStops is how the stops hold one tooth.
type ToothStops struct {
	Tooth Part     `json:"tooth"`
	Text  Sentence `json:"text" jsonschema_description:"the same in words"`
	Stops int      `json:"stops" jsonschema_description:"how many"`
	// Load is not of unit length: each stop adds a unit vector.
	Load       Vec      `json:"load" jsonschema_description:"sum of the directions in which the stops push the tooth, each of length 1: to mesial, to buccal, into the socket"`
	AxialShare *float64 `json:"axial_share" jsonschema_description:"share of that sum along the long axis, the cosine of its angle to it; null without stops"`
	Axial      *bool    `json:"axial" jsonschema_description:"it is at least axial_share of the case; null without stops"`
	// Across is the letters of the contacts of a back tooth.
	Across       string `json:"across" jsonschema_description:"kinds of contact across a back tooth, such as AB"`
	AcrossStable *bool  `json:"across_stable" jsonschema_description:"there is a B contact and an A or C contact against it (textbooks); null for front teeth and without stops"`
	Stoppers     int    `json:"closure_stoppers" jsonschema_description:"how many stops are closure stoppers"`
	Equalisers   int    `json:"equalisers" jsonschema_description:"how many are equalisers"`
	// Cusps are the supporting cusps of back teeth.
	Cusps []CuspStops `json:"cusps" jsonschema_description:"the supporting cusps of a back tooth"`
}

// CuspStops is how one supporting cusp is held.
type CuspStops struct {
	Cusp       string   `json:"cusp"`
	Stops      int      `json:"stops" jsonschema_description:"how many"`
	Points     Points   `json:"points" jsonschema:"enum=none,enum=single,enum=two_point,enum=tripod,enum=one_sided" jsonschema_description:"how they stand around the cusp: three or more that push towards each other from all sides are a tripod, else one-sided"`
	AxialShare *float64 `json:"axial_share" jsonschema_description:"share of the sum of their directions along the long axis of the tooth; null without stops"`
	// GapUm and Class are what a narrow strip of foil over this cusp alone finds.
	GapUm *float64   `json:"gap_um" jsonschema_description:"least gap of the surface within 1.5 mm of the tip, which a narrow strip of foil tries; null where the tip has none"`
	Class *HoldClass `json:"class" jsonschema:"enum=holds,enum=light_drag,enum=undecided,enum=passes" jsonschema_description:"what the strip would do, as far as the scans can tell; null where the tip has no surface"`
}

// Points is how the stops of a cusp stand around it.
type Points string

// The ways to stand.
const (
	NoPoint  Points = "none"
	Single   Points = "single"
	TwoPoint Points = "two_point"
	Tripod   Points = "tripod"
	OneSided Points = "one_sided"
)

// points tells how the stops of a cusp stand from their loads. Three or more
// enclose the cusp where no half of the plan is free of them.
func points(loads []r3.Vec) Points {
	switch len(loads) {
	case 0:
		return NoPoint
	case 1:
		return Single
	case 2:
		return TwoPoint
	}
	var angles []float64
	for _, l := range loads {
		if math.Hypot(l.X, l.Y) > 1e-9 {
			angles = append(angles, math.Atan2(l.Y, l.X))
		}
	}
	slices.Sort(angles)
	for i, a := range angles {
		next := angles[0] + 2*math.Pi
		if i+1 < len(angles) {
			next = angles[i+1]
		}
		if next-a >= math.Pi {
			return OneSided
		}
	}
	if len(angles) < 3 {
		return OneSided
	}
	return Tripod
}

// support writes down the stops of the patches in the scratch, which are those of
// the closed casts, and how they hold the teeth.
func (e *examination) support(c *Centric, s *scratch, pose kinematics.Pose) error {
	c.Stops, c.Support = []Stop{}, []ToothStops{}
	if e.casts.Upper.Teeth == nil || e.casts.Lower.Teeth == nil {
		return nil
	}
	t := &e.c.Thresholds
	found := stops(e.casts.Upper, e.casts.Lower, s.patches, pose, t)
	g := grouped(found)
	for i := range found {
		c.Stops = append(c.Stops, found[i].write(g, t))
	}
	gaps, err := cuspGaps(e.casts.Upper, e.casts.Lower, pose)
	if err != nil {
		return err
	}
	for _, cast := range []*Cast{e.casts.Upper, e.casts.Lower} {
		for _, tooth := range cast.ByPart[1:] {
			if _, ok := cast.Frames[tooth]; ok {
				c.Support = append(c.Support, toothStops(tooth, cast, found, g, gaps, t))
			}
		}
	}
	slices.SortFunc(c.Support, func(a, b ToothStops) int { return int(a.Tooth) - int(b.Tooth) })
	c.StopsText = describeStops(c.Stops, c.Support)
	return nil
}

// toothStops says how the stops hold one tooth.
func toothStops(tooth dentition.ToothID, c *Cast, stops []stop, g groups, gaps map[cuspOf]float64, t *casefile.Thresholds) ToothStops {
	s := ToothStops{Tooth: Part(tooth), Cusps: []CuspStops{}}
	var loads []r3.Vec
	kinds := map[Across]bool{}
	for i := range stops {
		x := &stops[i]
		switch tooth {
		case x.up.Tooth:
			loads = append(loads, x.up.load)
		case x.lo.Tooth:
			loads = append(loads, x.lo.load)
		default:
			continue
		}
		kinds[x.across] = true
		switch x.along {
		case ClosureStopper:
			s.Stoppers++
		case Equaliser:
			s.Equalisers++
		}
	}
	s.Stops = len(loads)
	sum, share, ok := axial(loads)
	s.Load = vec(sum)
	if ok {
		straight := share >= t.AxialShare
		s.AxialShare, s.Axial = &share, &straight
	}
	if !tooth.Type().Anterior() {
		for _, k := range []Across{ContactA, ContactB, ContactC} {
			if kinds[k] {
				s.Across += string(k)
			}
		}
		if s.Stops > 0 {
			stable := kinds[ContactB] && (kinds[ContactA] || kinds[ContactC])
			s.AcrossStable = &stable
		}
		for _, l := range c.Landmarks {
			if l.Tooth != tooth || !l.Feature.Cusp() || l.Feature.Role(tooth) != anatomy.Supporting {
				continue
			}
			loads := g[cuspOf{tooth, l.Feature}]
			k := CuspStops{Cusp: l.Feature.String(), Stops: len(loads), Points: points(loads)}
			if _, share, ok := axial(loads); ok {
				k.AxialShare = &share
			}
			if gap, ok := gaps[cuspOf{tooth, l.Feature}]; ok {
				class := classify(gap, t)
				k.GapUm, k.Class = &gap, &class
			}
			s.Cusps = append(s.Cusps, k)
		}
	}
	s.Text = s.describe()
	return s
}
