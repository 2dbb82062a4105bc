package typodont

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// roof answers how high the upper arch hangs over a place in the plan.
type roof struct {
	s     *surface
	cells map[[2]int][]int32
}

const roofCell = 0.5 // mm

func newRoof(s *surface, near func(r3.Vec) bool) *roof {
	r := &roof{s: s, cells: map[[2]int][]int32{}}
	for i, t := range s.tris {
		a := [3]r3.Vec{s.verts[t[0]], s.verts[t[1]], s.verts[t[2]]}
		if !near(a[0]) {
			continue
		}
		lo, hi := flatBox(a)
		for x := int(math.Floor(lo.X / roofCell)); x <= int(math.Floor(hi.X/roofCell)); x++ {
			for y := int(math.Floor(lo.Y / roofCell)); y <= int(math.Floor(hi.Y/roofCell)); y++ {
				r.cells[[2]int{x, y}] = append(r.cells[[2]int{x, y}], int32(i))
			}
		}
	}
	return r
}

// over is the height from p to the lowest part of the roof above or below it.
func (r *roof) over(p r3.Vec) float64 {
	best := math.Inf(1)
	for _, i := range r.cells[[2]int{int(math.Floor(p.X / roofCell)), int(math.Floor(p.Y / roofCell))}] {
		t := r.s.tris[i]
		if z, ok := heightOver([3]r3.Vec{r.s.verts[t[0]], r.s.verts[t[1]], r.s.verts[t[2]]}, p); ok {
			best = min(best, z-p.Z)
		}
	}
	return best
}

// An obstacle is a cusp: a peak that meets the upper arch, and flanks around it
// that keep out of its way in all movements.
const (
	obstacleReach = 0.9    // radius of the peak, mm
	obstacleRoom  = 0.08   // what is left above it in intercuspation and in the other movements, mm
	otherReach    = 2.2    // travel up to which that holds, mm
	obstacleOff   = 0.0005 // how exact its height is, mm
	flankSlope    = 1.2    // fall of the flanks, mm a mm
	flankRoom     = 0.15   // what is left above and beside them, mm
	flankAside    = 0.4
	peakStep      = 0.1 // its strongest travel is looked for in such steps, mm
	peakSteps     = 13
	peakMost      = 0.5 // and is at most so far from the wanted one
)

// interfere builds an obstacle on a lower molar of the nonworking side. Its place
// is the one that needs the lowest obstacle to meet the upper arch deepest at
// the wanted travel without touching in intercuspation or in the other movements.
func (p *pair) interfere(ctx context.Context, up, lo *scan, d Disturbance, truth *Truth) error {
	g := p.guides[0]
	if d.Movement == "left" {
		g = p.guides[1]
	}
	var poses []kinematics.Pose
	want := 0
	for t := 0.0; t <= d.MM+1.5; t += sweepStep {
		pose, _, err := g.pose(p.settings, t)
		if err != nil {
			return err
		}
		if math.Abs(t-d.MM) < sweepStep/2 {
			want = len(poses)
		}
		poses = append(poses, pose)
	}
	t := lo.find(d.Tooth)
	r := newRoof(up.surface, func(v r3.Vec) bool { return r3.Norm(r3.Sub(v, t.centre)) < 16 })
	height := d.Um / 1000
	elsewhere, err := p.otherPoses(g)
	if err != nil {
		return err
	}
	room := func(v r3.Vec) float64 { // by how much the place may rise
		least := math.Inf(1)
		for _, pose := range elsewhere {
			least = min(least, r.over(pose.Apply(v)))
		}
		return least - obstacleRoom
	}
	var biting []int32
	for i, v := range lo.verts {
		if lo.tooth[i] < 0 || &lo.teeth[lo.tooth[i]] != t {
			continue
		}
		if _, _, o := t.local(v); o >= -2.5 {
			biting = append(biting, int32(i))
		}
	}
	best, gap := int32(-1), math.Inf(1)
	for _, i := range biting {
		v := lo.verts[i]
		at := r.over(poses[want].Apply(v))
		if at >= gap || at+height > r.over(v)-obstacleRoom {
			continue
		}
		deepest, least := 0, math.Inf(1)
		for k, pose := range poses {
			if h := r.over(pose.Apply(v)); h < least {
				deepest, least = k, h
			}
		}
		if deepest < want-1 || deepest > want+1 || at+height > room(v) {
			continue
		}
		best, gap = i, at
	}
	if best < 0 {
		return fmt.Errorf("%w: no place on %d for an interference of %g µm at %g mm; try another tooth or a shorter travel",
			ErrParams, d.Tooth, d.Um, d.MM)
	}
	cast, err := newCast(ctx, up.surface, lo.surface)
	if err != nil {
		return err
	}
	// The obstacle is strongest somewhere around the wanted travel.
	var stations []kinematics.Station
	var plain []contact.Closing
	for i := range peakSteps {
		st, err := p.settings.Station(g.movement, max(d.MM+float64(i-peakSteps/2)*peakStep, 0))
		if err != nil {
			return err
		}
		touch, err := cast.close(st)
		if err != nil {
			return err
		}
		stations, plain = append(stations, st), append(plain, touch)
	}
	at := lo.verts[best]
	all := slices.Concat(elsewhere, poses)
	share := map[int32]float64{} // of the height
	for _, i := range biting {
		v := lo.verts[i]
		d := math.Hypot(v.X-at.X, v.Y-at.Y)
		rise := smax(at.Z-v.Z+gap+height-flankSlope*d, 0, 0.3)
		for k := 0; k < 8 && rise > 0; k++ {
			sin, cos := math.Sincos(float64(k) * pi / 4)
			q := r3.Add(v, r3.Vec{X: flankAside * cos, Y: flankAside * sin})
			for _, pose := range all {
				rise = min(rise, r.over(pose.Apply(q))-flankRoom)
			}
		}
		if w := max(bump(d*d/(obstacleReach*obstacleReach)), rise/(gap+height)); w > 0 {
			share[i] = min(w, 1)
		}
	}
	more := gap + height
	var hit contact.Closing
	var peak float64        // travel at which it is strongest
	for round := range 40 { // the height counts along the arc of closing, at the spot
		for v, w := range share {
			lo.verts[v].Z += more * w
		}
		if round < 4 {
			lo.tidy(share)
		}
		if err = cast.lay(ctx, lo.surface); err != nil {
			return err
		}
		highest := math.Inf(-1)
		for i, st := range stations {
			touch, err := cast.close(st)
			if err != nil {
				return err
			}
			q := touch.Pose.Inverse().Apply(touch.Point)
			if h := (touch.Opening - plain[i].Opening).Radians() * math.Hypot(q.Y, q.Z); h > highest {
				hit, peak, highest = touch, st.Travel, h
			}
		}
		more = height - highest
		if math.Abs(more) < obstacleOff {
			break
		}
	}
	if math.Abs(more) > obstacleOff {
		return fmt.Errorf("%w: the interference on %d at %g mm comes out %.0f µm off its height; try another one",
			ErrParams, d.Tooth, d.MM, more*1000)
	}
	if math.Abs(peak-d.MM) > peakMost {
		return fmt.Errorf("%w: the interference on %d wanted at %g mm comes out strongest at %.1f mm; try another one",
			ErrParams, d.Tooth, d.MM, peak)
	}
	e := Expected{Kind: "nonworking_interference", Movement: d.Movement, Tooth: d.Tooth, Lower: d.Tooth, TravelMM: peak, SizeUm: d.Um,
		OpeningDeg: hit.Opening.Degrees(), Point: Point(hit.Point)}
	if u, _ := p.upper.nearest(hit.Point); u >= 0 {
		e.Upper = p.upper.teeth[u].code
	}
	carries := func(touch contact.Closing) bool {
		v := lo.tris[touch.Lower][0]
		return lo.tooth[v] >= 0 && &lo.teeth[lo.tooth[v]] == t
	}
	for _, o := range p.guides {
		from, to, err := cast.span(p.settings, o.movement, carries)
		if err != nil {
			return err
		}
		switch {
		case o.movement == g.movement:
			e.FromMM, e.ToMM = from, to
			truth.Expected = append(truth.Expected, e)
		case to > 0:
			kind := "working_interference"
			if o.movement == kinematics.Protrusive {
				kind = "protrusive_interference"
			}
			truth.Expected = append(truth.Expected,
				Expected{Kind: kind, Movement: o.movement.String(), Tooth: d.Tooth, Lower: d.Tooth, FromMM: from, ToMM: to})
		}
	}
	return nil
}

// otherPoses are rest and the poses along the guided part of the movements other
// than g, which an obstacle should not disturb.
func (p *pair) otherPoses(g guide) ([]kinematics.Pose, error) {
	out := []kinematics.Pose{{}}
	for _, o := range p.guides {
		if o.movement == g.movement {
			continue
		}
		for t := 0.2; t <= otherReach+1e-9; t += 0.2 {
			pose, _, err := o.pose(p.settings, t)
			if err != nil {
				return nil, err
			}
			out = append(out, pose)
		}
	}
	return out, nil
}

// facet grinds the stop of a tooth's cusp flat on both teeth, each by the depth,
// in the plane in which the lower tooth slides there in the movement.
func (p *pair) facet(up, lo *scan, d Disturbance, truth *Truth) error {
	var g guide
	for _, x := range p.guides {
		if x.movement.String() == d.Movement {
			g = x
		}
	}
	for _, st := range p.stops {
		code, name := st.of(d.Tooth < 30)
		if code != d.Tooth || d.Cusp != "" && d.Cusp != name {
			continue
		}
		pose, _, err := g.pose(p.settings, 0.3)
		if err != nil {
			return err
		}
		way := r3.Unit(r3.Sub(pose.Apply(st.point()), st.point()))
		z := r3.Vec{Z: 1}
		n := r3.Unit(r3.Sub(z, r3.Scale(r3.Dot(z, way), way)))
		depth := d.Um / 1000
		for _, side := range []struct {
			s     *scan
			code  int
			sign  float64
			other int
		}{{lo, st.Lower, 1, st.Upper}, {up, st.Upper, -1, st.Lower}} {
			on := addScaled(st.point(), -side.sign*depth, n)
			out := r3.Scale(side.sign, n)
			area := side.s.grind(side.s.find(side.code), on, out)
			if area == 0 {
				continue
			}
			f := FacetTruth{Tooth: side.code, Partner: side.other, Movement: d.Movement, AreaMM2: area, Point: Point(on),
				Normal: Point(out), Way: Point(way)}
			truth.Facets = append(truth.Facets, f)
		}
		truth.Expected = append(truth.Expected,
			Expected{Kind: "wear_facet", Movement: d.Movement, Tooth: d.Tooth, Cusp: name, Upper: st.Upper, Lower: st.Lower,
				SizeUm: d.Um, Point: Point(st.point())})
		return nil
	}
	return fmt.Errorf("%w: %d %s holds no stop to grind", ErrParams, d.Tooth, d.Cusp)
}

// The grinding wheel is flat out to grindFlat from its middle; from there its
// rim recedes by grindRim mm a mm, so that the ground surface runs out in its
// surroundings without a step. It takes off what faces it and stands no higher
// over its plane than grindDeep: walls that stand steeper over it than grindFacing (cosine), and
// what is higher or lies behind, as the opposite slope of a fossa, stay.
const (
	grindFlat   = 2.0 // mm
	grindRim    = 1.0
	grindDeep   = 1.4 // mm
	grindFacing = 0.35
)

// grind takes off what of a tooth lies outside a wheel at the point on with the
// outward normal n, and says how large the flat is.
func (s *scan) grind(t *tooth, on, n r3.Vec) float64 {
	over := map[int32]float64{} // how far the vertices that face the wheel lie outside
	first, nearest := int32(-1), math.Inf(1)
	for i, normal := range s.normals() {
		if s.tooth[i] < 0 || &s.teeth[s.tooth[i]] != t || r3.Dot(normal, n) < grindFacing {
			continue
		}
		d := r3.Sub(s.verts[i], on)
		h := r3.Dot(d, n)
		rim := grindRim * max(0, r3.Norm(addScaled(d, -h, n))-grindFlat)
		if h <= rim || h > grindDeep {
			continue
		}
		over[int32(i)] = h - rim
		if r := r3.Norm2(d); r < nearest {
			first, nearest = int32(i), r
		}
	}
	if first < 0 {
		return 0
	}
	var there [][3]int32
	for _, t := range s.tris {
		if over[t[0]]+over[t[1]]+over[t[2]] > 0 {
			there = append(there, t)
		}
	}
	ground := map[int32]float64{first: over[first]} // what hangs together
	for grown := 0; grown < len(ground); {
		grown = len(ground)
		for _, t := range there {
			if ground[t[0]] > 0 || ground[t[1]] > 0 || ground[t[2]] > 0 {
				for _, v := range t {
					if over[v] > 0 {
						ground[v] = over[v]
					}
				}
			}
		}
	}
	for v, h := range ground {
		s.verts[v] = addScaled(s.verts[v], -h, n)
	}
	s.tidy(ground) // what stood steeply over the wheel is crowded
	flat := func(v int32) bool {
		d := r3.Sub(s.verts[v], on)
		return math.Abs(r3.Dot(d, n)) < 1e-9 && r3.Norm(d) < grindFlat+1e-9
	}
	area := 0.0
	for _, t := range s.tris {
		if flat(t[0]) && flat(t[1]) && flat(t[2]) {
			a, b, c := s.verts[t[0]], s.verts[t[1]], s.verts[t[2]]
			area += r3.Norm(r3.Cross(r3.Sub(b, a), r3.Sub(c, a))) / 2
		}
	}
	return area
}
