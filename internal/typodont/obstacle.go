package typodont

import (
	"context"
	"fmt"
	"math"

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

// An obstacle is a broad cusp that meets the upper arch in its movement and leaves room in
// intercuspation and at the beginning of the other movements. Steep guidance parts the
// nonworking molars, so it stands where there is room above it: mostly on the distal
// marginal ridge, behind the last upper tooth.
const (
	obstacleRoom    = 0.08   // what is left above its peak in intercuspation and in the other movements, mm
	otherReach      = 2.2    // travel up to which that holds on the working side, mm
	protrusiveReach = 0.5    // and in protrusion
	obstacleOff     = 0.0005 // how exact its height is, mm
	cuspTop         = 0.3    // radius of its peak in the plan, mm
	cuspWide        = 3.0    // and of its foot
	cuspDeep        = 4.0    // how far below the tooth's tips it runs out in the wall, mm
	flankRoom       = 0.15   // what is left above and beside its flanks, mm
	flankAside      = 0.3
	flankRound      = 0.3  // width over which it is rounded where room ends it, mm
	flankRounds     = 2    // rounds of evening out
	growMost        = 3    // how much higher than the gap it may have to grow, as its sides are hemmed in
	growOff         = 0.02 // how exact its height is when it is done growing and only stretched, mm
	peakStep        = 0.1  // its strongest travel is looked for in such steps, mm
	peakSteps       = 13
	peakMost        = 0.5 // and is at most so far from the wanted one
)

// obstacle is an interference while it is built.
type obstacle struct {
	p      *pair
	lo     *scan
	d      Disturbance
	g      guide // the movement that it disturbs
	tooth  *tooth
	roof   *roof             // the upper teeth over the place
	poses  []kinematics.Pose // along its movement
	want   int               // the pose at the wanted travel
	others []kinematics.Pose // of intercuspation and the other movements
	biting []int32           // vertices of the tooth that may rise
	cast   *cast
}

// interfere builds an obstacle on a lower molar of the nonworking side. Its place
// is the one that needs the lowest obstacle to meet the upper arch deepest at
// the wanted travel without touching in intercuspation or in the other movements.
func (p *pair) interfere(ctx context.Context, up, lo *scan, d Disturbance, truth *Truth) error {
	o, err := p.newObstacle(up, lo, d)
	if err != nil {
		return err
	}
	at, gap, err := o.place()
	if err != nil {
		return err
	}
	if o.cast, err = newCast(ctx, up.surface, lo.surface); err != nil {
		return err
	}
	peak, hit, err := o.raise(ctx, o.cusp(at), gap)
	if err != nil {
		return err
	}
	return o.promise(truth, peak, hit)
}

func (p *pair) newObstacle(up, lo *scan, d Disturbance) (*obstacle, error) {
	o := &obstacle{p: p, lo: lo, d: d, g: p.guides[0], tooth: lo.find(d.Tooth)}
	if d.Movement == "left" {
		o.g = p.guides[1]
	}
	for t := 0.0; t <= d.MM+1.5; t += sweepStep {
		pose, _, err := o.g.pose(p.settings, t)
		if err != nil {
			return nil, err
		}
		if math.Abs(t-d.MM) < sweepStep/2 {
			o.want = len(o.poses)
		}
		o.poses = append(o.poses, pose)
	}
	o.roof = newRoof(up.surface, func(v r3.Vec) bool { return r3.Norm(r3.Sub(v, o.tooth.centre)) < 16 })
	var err error
	if o.others, err = p.otherPoses(o.g); err != nil {
		return nil, err
	}
	for i, v := range lo.verts {
		if lo.tooth[i] < 0 || &lo.teeth[lo.tooth[i]] != o.tooth {
			continue
		}
		if _, _, height := o.tooth.local(v); height >= -cuspDeep {
			o.biting = append(o.biting, int32(i))
		}
	}
	return o, nil
}

// place is the vertex on which the obstacle is built, and the gap over it at the wanted
// travel.
func (o *obstacle) place() (best int32, gap float64, err error) {
	height := o.d.Um / 1000
	best, gap = int32(-1), math.Inf(1)
	for _, i := range o.biting {
		v := o.lo.verts[i]
		at := o.roof.over(o.poses[o.want].Apply(v))
		if at >= gap || at+height > o.roof.over(v)-obstacleRoom {
			continue
		}
		deepest, least := 0, math.Inf(1)
		for k, pose := range o.poses {
			if h := o.roof.over(pose.Apply(v)); h < least {
				deepest, least = k, h
			}
		}
		if deepest < o.want-1 || deepest > o.want+1 || at+height > o.room(v)-obstacleRoom {
			continue
		}
		best, gap = i, at
	}
	if best < 0 {
		return 0, 0, o.noPlace()
	}
	return best, gap, nil
}

func (o *obstacle) noPlace() error {
	return fmt.Errorf("%w: no place on %d for an interference of %g µm at %g mm; try another tooth or a shorter travel",
		ErrParams, o.d.Tooth, o.d.Um, o.d.MM)
}

// A rise is a cusp that grows on a tooth. The maps are over its vertices.
type rise struct {
	form  map[int32]float64 // the share of its height that each would get if there were room
	share map[int32]float64 // and gets
	room  map[int32]float64 // how far it may rise at most, mm
	was   map[int32]float64 // its height before, mm
	ring  map[int32][]int32 // its neighbours
}

// cusp is broad around the spot and runs out in the wall below.
func (o *obstacle) cusp(spot int32) *rise {
	at := o.lo.verts[spot]
	c := &rise{form: map[int32]float64{}, share: map[int32]float64{}, room: map[int32]float64{}, was: map[int32]float64{},
		ring: map[int32][]int32{}}
	for _, t := range o.lo.tris {
		for k, v := range t {
			c.ring[v] = append(c.ring[v], t[(k+1)%3])
		}
	}
	for _, i := range o.biting {
		v := o.lo.verts[i]
		_, _, height := o.tooth.local(v)
		aside := math.Hypot(v.X-at.X, v.Y-at.Y)
		w := (1 - step((aside-cuspTop)/(cuspWide-cuspTop))) * step(1+height/cuspDeep)
		if w > 0 && len(c.ring[i]) > 0 {
			c.form[i], c.room[i], c.was[i] = w, o.room(v)-flankRoom, v.Z
		}
	}
	return c
}

// room is the height from v and from around it to the upper teeth, the least in
// intercuspation and in the other movements.
func (o *obstacle) room(v r3.Vec) float64 {
	least := math.Inf(1)
	for k := range 8 {
		sin, cos := math.Sincos(float64(k) * pi / 4)
		q := r3.Add(v, r3.Vec{X: flankAside * cos, Y: flankAside * sin})
		for _, pose := range o.others {
			least = min(least, o.roof.over(pose.Apply(q)))
		}
	}
	return least
}

// grow gives the cusp a height, less where the upper teeth need room, without creases.
func (c *rise) grow(s *surface, high float64) {
	field := make(map[int32]float64, len(c.form))
	limit := func(v int32, h float64) float64 { return max(min(h, c.room[v]), 0) }
	for v, w := range c.form {
		field[v] = limit(v, smin(w*high, c.room[v], flankRound))
	}
	for range flankRounds {
		next := make(map[int32]float64, len(field))
		for v, own := range field {
			sum := 0.0
			for _, u := range c.ring[v] {
				sum += field[u]
			}
			next[v] = limit(v, (own+sum/float64(len(c.ring[v])))/2)
		}
		field = next
	}
	for v, h := range field {
		s.verts[v].Z = c.was[v] + h
		c.share[v] = h / high
	}
}

// raise lets the cusp grow until it holds the casts open by the obstacle's height where it
// is strongest, somewhere around the wanted travel; the height counts along the arc of
// closing, at the spot. It returns that travel and the touch there.
func (o *obstacle) raise(ctx context.Context, c *rise, gap float64) (peak float64, hit contact.Closing, err error) {
	var stations []kinematics.Station
	var plain []contact.Closing
	for i := range peakSteps {
		st, err := o.p.settings.Station(o.g.movement, max(o.d.MM+float64(i-peakSteps/2)*peakStep, 0))
		if err != nil {
			return 0, hit, err
		}
		touch, err := o.cast.close(st)
		if err != nil {
			return 0, hit, err
		}
		stations, plain = append(stations, st), append(plain, touch)
	}
	height := o.d.Um / 1000
	high, more, growing := gap, height, true
	gain := 1.0 // mm that it must grow for a mm of height
	for round := range 40 {
		if growing {
			if high += gain * more; high > growMost*(gap+height) {
				return 0, hit, o.noPlace() // it is hemmed in
			}
			c.grow(o.lo.surface, high)
		} else {
			for v, w := range c.share {
				o.lo.verts[v].Z += more * w
			}
		}
		if growing && math.Abs(more) < growOff {
			growing = false
			o.lo.tidy(c.share)
		}
		if err = o.cast.lay(ctx, o.lo.surface); err != nil {
			return 0, hit, err
		}
		highest := math.Inf(-1)
		for i, st := range stations {
			touch, err := o.cast.close(st)
			if err != nil {
				return 0, hit, err
			}
			q := touch.Pose.Inverse().Apply(touch.Point)
			if h := (touch.Opening - plain[i].Opening).Radians() * math.Hypot(q.Y, q.Z); h > highest {
				hit, peak, highest = touch, st.Travel, h
			}
		}
		left := height - highest
		if won := more - left; growing && round > 0 {
			gain *= more / max(won, 1e-3)
			gain = min(max(gain, 1), growMost)
		}
		more = left
		if !growing && math.Abs(more) < obstacleOff {
			break
		}
	}
	if math.Abs(more) > obstacleOff {
		return 0, hit, fmt.Errorf("%w: the interference on %d at %g mm comes out %.0f µm off its height; try another one",
			ErrParams, o.d.Tooth, o.d.MM, more*1000)
	}
	if math.Abs(peak-o.d.MM) > peakMost {
		return 0, hit, fmt.Errorf("%w: the interference on %d wanted at %g mm comes out strongest at %.1f mm; try another one",
			ErrParams, o.d.Tooth, o.d.MM, peak)
	}
	return peak, hit, nil
}

// promise writes what the obstacle shows in every movement into the truth.
func (o *obstacle) promise(truth *Truth, peak float64, hit contact.Closing) error {
	e := Expected{Kind: "nonworking_interference", Movement: o.d.Movement, Tooth: o.d.Tooth, Lower: o.d.Tooth, TravelMM: peak,
		SizeUm: o.d.Um, OpeningDeg: hit.Opening.Degrees(), Point: Point(hit.Point)}
	if u, _ := o.p.upper.nearest(hit.Point); u >= 0 {
		e.Upper = o.p.upper.teeth[u].code
	}
	carries := func(touch contact.Closing) bool {
		v := o.lo.tris[touch.Lower][0]
		return o.lo.tooth[v] >= 0 && &o.lo.teeth[o.lo.tooth[v]] == o.tooth
	}
	for _, g := range o.p.guides {
		from, to, err := o.cast.span(o.p.settings, g.movement, carries)
		if err != nil {
			return err
		}
		switch {
		case g.movement == o.g.movement:
			e.FromMM, e.ToMM = from, to
			truth.Expected = append(truth.Expected, e)
		case to > 0:
			kind := "working_interference"
			if g.movement == kinematics.Protrusive {
				kind = "protrusive_interference"
			}
			truth.Expected = append(truth.Expected,
				Expected{Kind: kind, Movement: g.movement.String(), Tooth: o.d.Tooth, Lower: o.d.Tooth, FromMM: from, ToMM: to})
		}
	}
	return nil
}

// otherPoses are intercuspation and the poses along the guided part of the movements other
// than g, which an obstacle should not disturb.
func (p *pair) otherPoses(g guide) ([]kinematics.Pose, error) {
	out := []kinematics.Pose{{}}
	for _, o := range p.guides {
		if o.movement == g.movement {
			continue
		}
		reach := otherReach
		if o.movement == kinematics.Protrusive {
			reach = protrusiveReach
		}
		for t := 0.2; t <= reach+1e-9; t += 0.2 {
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
