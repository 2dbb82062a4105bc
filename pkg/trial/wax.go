package trial

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/treatment"
	"github.com/cusptrace/cusptrace/pkg/trial/internal/carve"
	"github.com/cusptrace/cusptrace/pkg/trial/internal/surface"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// All are our choice.
const (
	// waxMost is the thickest wax that is laid, mm.
	waxMost = 3.0
	// waxBand is the half width of the band that touches, waxRim that of its slope down to
	// the tooth, mm.
	waxBand = 0.5
	waxRim  = 0.9
	// waxEdge is the longest edge of the surface under wax, mm.
	waxEdge = 0.12
	// waxLeast is the least thickness that is laid, mm.
	waxLeast = 0.001
	// steep is the least cosine of a surface to the direction in which wax is laid.
	steep = 0.2
)

// wax lays wax on a tooth.
func (w *work) wax(step int, x *casefile.Wax) error {
	if x.Form != nil {
		return w.form(step, x)
	}
	now, err := w.look(findings.Right, findings.Left, findings.Protrusive)
	if err != nil {
		return err
	}
	l, err := newLayer(now, x.Tooth)
	if err != nil {
		return err
	}
	if err := l.allow(w, now, x); err != nil {
		return err
	}
	if err := l.prepare(); err != nil {
		return err
	}
	if err := l.room(w.ctx); err != nil {
		return err
	}
	if err := l.lay(); err != nil {
		return err
	}
	return w.finish(step, l, x.Material)
}

// layer is wax on its way onto a tooth.
type layer struct {
	tooth dentition.ToothID
	jaw   dentition.Jaw
	x     *Examined
	cast  *casts.Cast
	other *casts.Cast
	goals []goal // that the casts must still reach
	asked []int  // those of goals at which the wax shall touch
	scan  surface.Surface
	posed *mesh.Mesh
	part  surface.Part // the tooth
	along r3.Vec       // direction in which wax is laid, in the articulator frame
	most  []float64    // of each vertex of the part: the room, mm
	by    []int32      // the goal that bounds it
	thick []float64    // the wax, mm
	stage string
	move  findings.Movement
}

// newLayer begins a layer on a tooth.
func newLayer(x *Examined, t dentition.ToothID) (*layer, error) {
	l := &layer{tooth: t, jaw: t.Jaw(), x: x, cast: x.Casts.Upper, other: x.Casts.Lower}
	if l.jaw == dentition.Lower {
		l.cast, l.other = l.other, l.cast
	}
	if _, ok := l.cast.Frames[t]; !ok {
		return nil, &refusal{why: language.Say("trial.refused.missing", language.With{"tooth": findings.Part(t)})}
	}
	return l, nil
}

// allow collects the poses that the casts must still reach with the wax, and says at which
// of them it shall touch: in its own movement those of the guidance that it shall share or
// lead, elsewhere those that the casts reach today.
func (l *layer) allow(w *work, x *Examined, step *casefile.Wax) error {
	set, err := x.Case.Settings.Kinematics()
	if err != nil {
		return err
	}
	l.move = findings.MovementOf(step.Movement)
	switch {
	case step.Form != nil:
		l.stage = "form"
	case step.ShareWith != 0:
		l.stage = "join"
	default:
		l.stage = "lead"
	}
	l.goals = append(l.goals, goal{Goal: carve.Goal{Opening: s1.Angle(x.Findings.Centric.OpeningDeg) * s1.Degree},
		movement: findings.Closed})
	seen := false
	for i := range x.Findings.Excursions {
		e := &x.Findings.Excursions[i]
		m, err := e.Movement.Kinematic()
		if err != nil {
			return err
		}
		own := e.Movement == l.move && l.stage != "form"
		seen = seen || own
		end := math.Inf(1)
		if e.Guidance != nil && e.Guidance.EdgeToEdgeMM != nil {
			end = *e.Guidance.EdgeToEdgeMM
		}
		for k := range e.Frames {
			fr := &e.Frames[k]
			if fr.TravelMM == 0 {
				continue
			}
			st, err := set.Station(m, fr.TravelMM)
			if err != nil {
				return err
			}
			g := goal{Goal: carve.Goal{Base: st.Base(), Opening: s1.Angle(fr.OpeningDeg) * s1.Degree}, movement: e.Movement, travel: fr.TravelMM}
			if own && fr.TravelMM >= x.Case.Thresholds.BegunMM && fr.TravelMM <= end {
				if l.stage == "lead" {
					if g.Opening, err = l.led(st, fr, step); err != nil {
						return err
					}
				}
				l.asked = append(l.asked, len(l.goals))
			}
			l.goals = append(l.goals, g)
		}
	}
	if !seen && l.stage != "form" {
		return &refusal{stage: l.stage, movement: l.move, why: language.Say("trial.refused.movement",
			language.With{"movement": language.Say("movement." + string(l.move))})}
	}
	switch l.stage {
	case "join":
		if err := l.guided(x, step.ShareWith); err != nil {
			return err
		}
	case "lead":
		return nil
	}
	return l.between(set)
}

// guided refuses wax that would share a guidance which is none: where a spot holds the casts open
// in the asked positions, by more than scans tell, or the tooth that shall share never touches. Wax
// would grow there to what the spot leaves open, ragged where it comes and goes, and be too high
// once the spot is gone.
func (l *layer) guided(x *Examined, with dentition.ToothID) error {
	e := &x.Findings.Excursions[slices.IndexFunc(x.Findings.Excursions,
		func(e findings.Excursion) bool { return e.Movement == l.move })]
	first, last := math.Inf(1), math.Inf(-1)
	for _, g := range l.asked {
		first, last = min(first, l.goals[g].travel), max(last, l.goals[g].travel)
	}
	if f := holdsOpen(e, first, last, l.tooth, with); f != nil {
		return &refusal{stage: l.stage, movement: l.move, why: language.Say("trial.refused.held",
			language.With{"pair": findings.Pair{Upper: f.Upper, Lower: f.Lower}, "um": *f.HeightUm,
				"movement": language.Say("movement." + string(l.move)), "at": f.AtMM})}
	}
	least := math.Inf(1)
	for i := range e.Frames {
		if mm, ok := e.Frames[i].Clearance(with); ok && e.Frames[i].TravelMM >= first && e.Frames[i].TravelMM <= last {
			least = min(least, mm)
		}
	}
	if least <= slices.Max(x.Case.FoilsUm)/1000 {
		return nil
	}
	return &refusal{stage: l.stage, movement: l.move, why: language.Say("trial.refused.clear",
		language.With{"tooth": findings.Part(with), "mm": least, "movement": language.Say("movement." + string(l.move))})}
}

// holdsOpen is the highest of the interferences that stand in the way between two travels by more
// than scans tell; nil where there is none. Those of the given teeth do not count: they are the
// guidance that is meant.
func holdsOpen(e *findings.Excursion, first, last float64, teeth ...dentition.ToothID) *findings.Finding {
	var worst *findings.Finding
	for i := range e.Findings {
		f := &e.Findings[i]
		switch f.Kind {
		case findings.KindNonworkingInterference, findings.KindWorkingInterference, findings.KindProtrusiveInterference:
		default:
			continue
		}
		if f.HeightUm == nil || f.Doubtful || f.PastEdge || f.FromMM > last || f.ToMM < first ||
			slices.Contains(teeth, f.Upper.Tooth()) || slices.Contains(teeth, f.Lower.Tooth()) {
			continue
		}
		if worst == nil || *f.HeightUm > *worst.HeightUm {
			worst = f
		}
	}
	return worst
}

// between adds the stations between the lateral movements and protrusion, as far as the
// movements go: the wax opens the casts there no more than anywhere else.
func (l *layer) between(set kinematics.Settings) error {
	const step = 0.5
	far := 0.0
	for i := range l.goals {
		far = max(far, l.goals[i].travel)
	}
	var s contact.CloserScratch
	for right := step; right <= far; right += step {
		for left := step; left <= far; left += step {
			st, err := set.Between(right, left)
			if err != nil {
				return err
			}
			touch, err := l.x.Casts.Closer.Close(st.Base(), &s)
			if errors.Is(err, contact.ErrNoTouch) {
				continue
			}
			if err != nil {
				return err
			}
			l.goals = append(l.goals, goal{Goal: carve.Goal{Base: st.Base(), Opening: touch.Opening}, movement: findings.Protrusive,
				travel: min(right, left)})
		}
	}
	return nil
}

// led is the opening at which the tooth shall guide at a station.
func (l *layer) led(st kinematics.Station, fr *findings.Frame, step *casefile.Wax) (s1.Angle, error) {
	now := s1.Angle(fr.OpeningDeg) * s1.Degree
	incisal := l.x.Casts.Incisal
	if incisal == nil {
		return 0, &refusal{stage: l.stage, movement: l.move, why: language.Say("trial.refused.incisal")}
	}
	closed := l.x.Findings.Centric.Pose.Apply(*incisal)
	var want func(p r3.Vec) float64 // by how much a point is too high; falls as the jaw opens
	if step.As != 0 {
		z, err := l.twin(st)
		if err != nil {
			return 0, err
		}
		want = func(p r3.Vec) float64 { return p.Z - z }
	} else {
		slope := math.Tan(step.InclinationDeg * math.Pi / 180)
		want = func(p r3.Vec) float64 { return p.Z - closed.Z + slope*math.Hypot(p.X-closed.X, p.Y-closed.Y) }
	}
	lo, hi := kinematics.OpeningMin, kinematics.OpeningMax
	for range 60 {
		mid := (lo + hi) / 2
		if want(st.Pose(mid).Apply(*incisal)) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	const tolerance = 5e-3 // mm of the incisal point
	if short := (now - hi).Radians() * math.Hypot(incisal.Y, incisal.Z); short > tolerance && st.Travel >= leadFrom {
		with := language.With{"movement": language.Say("movement." + string(l.move)), "at": st.Travel, "mm": short}
		if c := fr.Carrier; c != nil {
			with["pair"] = findings.Pair{Upper: c.Upper, Lower: c.Lower}
		}
		return 0, &refusal{stage: l.stage, movement: l.move, why: language.Say("trial.refused.lead", with)}
	}
	return max(now, hi), nil
}

// leadFrom is the travel from which a guidance must be led, mm; before it the stops of the
// closing may still carry. Our choice.
const leadFrom = 0.5

// twin is the height of the incisal point at the same travel of the other lateral movement.
func (l *layer) twin(st kinematics.Station) (float64, error) {
	other := findings.Left
	if l.move == findings.Left {
		other = findings.Right
	}
	for i := range l.x.Findings.Excursions {
		e := &l.x.Findings.Excursions[i]
		if e.Movement != other || l.move == findings.Protrusive {
			continue
		}
		for k := range e.Frames {
			if f := &e.Frames[k]; math.Abs(f.TravelMM-st.Travel) < 1e-9 && f.IncisalPoint != nil {
				return f.IncisalPoint[2], nil
			}
		}
	}
	return 0, &refusal{stage: l.stage, movement: l.move, why: language.Say("trial.refused.movement",
		language.With{"movement": language.Say("movement." + string(other))})}
}

// refine refines the tooth.
func (l *layer) refine() error {
	scan := l.x.Upper
	if l.jaw == dentition.Lower {
		scan = l.x.Lower
	}
	near := make([]bool, scan.Mesh.NumVertices())
	for v := range near {
		near[v] = scan.Labels.Vertex(mesh.VertexID(v)) == l.tooth
	}
	var err error
	if l.scan, _, _, err = surface.Of(scan).Refine(near, waxEdge); err != nil {
		return err
	}
	pose := l.x.Casts.Mount
	if l.jaw == dentition.Lower {
		pose = pose.Then(l.x.Casts.Settling.Pose.Pose)
	}
	if l.posed, err = l.scan.Mesh.Transform(pose.Apply); err != nil {
		return err
	}
	l.part, err = surface.Cut(l.posed, func(t mesh.TriID) bool {
		c := l.posed.Triangle(t)
		return l.scan.Labels[c[0]] == l.tooth && l.scan.Labels[c[1]] == l.tooth && l.scan.Labels[c[2]] == l.tooth
	})
	return err
}

// prepare refines the tooth and finds the direction in which wax is laid: the mean normal
// of where opposing teeth come near in the asked positions.
func (l *layer) prepare() error {
	if err := l.refine(); err != nil {
		return err
	}
	normals, areas := surface.Normals(l.part.Mesh), surface.Areas(l.part.Mesh)
	var sum r3.Vec
	for v, p := range l.part.Mesh.Vertices() {
		for _, i := range l.asked {
			if h, ok := l.other.Index.Nearest(l.toOther(i, p), reachMM); ok {
				sum = r3.Add(sum, r3.Scale(areas[v]*(reachMM-h.Dist), normals[v]))
			}
		}
	}
	if r3.Norm(sum) == 0 {
		return &refusal{stage: l.stage, movement: l.move, why: language.Say("trial.refused.far",
			language.With{"tooth": findings.Part(l.tooth), "mm": reachMM})}
	}
	l.along = r3.Unit(sum)
	return nil
}

// reachMM is how near an opposing tooth must come in the movement for wax to reach it.
const reachMM = 1.5

// toOther takes a point of the tooth's cast to the frame of the other cast at a goal.
func (l *layer) toOther(goal int, p r3.Vec) r3.Vec {
	if pose := l.goals[goal].Pose(); l.jaw == dentition.Lower {
		return pose.Apply(p)
	} else {
		return pose.Inverse().Apply(p)
	}
}

func (l *layer) turnToOther(goal int, d r3.Vec) r3.Vec {
	if pose := l.goals[goal].Pose(); l.jaw == dentition.Lower {
		return pose.Rotate(d)
	} else {
		return pose.Inverse().Rotate(d)
	}
}

// room finds for each vertex of the tooth how far it may rise along the direction of the
// wax before it meets the other cast at any goal: the envelope of the opposing arch over
// all positions.
func (l *layer) room(ctx context.Context) error {
	m := l.part.Mesh
	n := m.NumVertices()
	l.most, l.by = make([]float64, n), make([]int32, n)
	normals := surface.Normals(m)
	const back = 0.3 // mm, that a vertex may already lie behind the other's surface
	return par.Chunks(ctx, n, 256, 0, func(_, first, last int) error {
		for v := first; v < last; v++ {
			l.most[v], l.by[v] = waxMost, -1
			if r3.Dot(normals[v], l.along) < steep {
				l.most[v] = 0
				continue
			}
			p := r3.Sub(m.Vertex(mesh.VertexID(v)), r3.Scale(back, l.along))
			for i := range l.goals {
				if h, ok := l.other.Index.Ray(l.toOther(i, p), l.turnToOther(i, l.along), back+l.most[v]); ok {
					l.most[v], l.by[v] = max(0, h.Dist-back), int32(i)
				}
			}
		}
		return nil
	})
}

// lay chooses where the wax touches and makes it slope down to the tooth around that. For
// each asked position one spot must touch; of those whose room that position bounds it takes
// the chain with the least wax (shortest path over the positions, by dynamic programming).
func (l *layer) lay() error {
	chain := l.chain()
	if len(chain) == 0 {
		return &refusal{stage: l.stage, movement: l.move, why: language.Say("trial.refused.far",
			language.With{"tooth": findings.Part(l.tooth), "mm": reachMM})}
	}
	m := l.part.Mesh
	l.thick = make([]float64, m.NumVertices())
	for v, p := range m.Vertices() {
		for _, c := range chain {
			d := r3.Norm(r3.Sub(p, m.Vertex(c)))
			if d < waxBand+waxRim {
				l.thick[v] = max(l.thick[v], min(l.most[v], l.most[c]*slope((d-waxBand)/waxRim)))
			}
		}
		if l.thick[v] < waxLeast {
			l.thick[v] = 0
		}
	}
	return nil
}

// slope falls smoothly from 1 at 0 to 0 at 1.
func slope(u float64) float64 {
	u = min(max(u, 0), 1)
	return 1 - u*u*(3-2*u)
}

const (
	// choices is how many spots of a position are considered, those with the least wax.
	choices = 40
	// wander is what a way of 1 mm between spots costs in wax, mm; our choice.
	wander = 0.05
)

// chain is the spots that touch, one for each asked position that bounds some.
func (l *layer) chain() []mesh.VertexID {
	type node struct {
		v    mesh.VertexID
		cost float64
		from int
	}
	var columns [][]node
	for _, g := range l.asked {
		var column []node
		for v := range l.by {
			if l.by[v] == int32(g) && l.most[v] > 0 && l.most[v] < waxMost {
				column = append(column, node{mesh.VertexID(v), l.most[v], -1})
			}
		}
		if len(column) == 0 {
			continue
		}
		slices.SortStableFunc(column, func(a, b node) int { return cmp.Compare(a.cost, b.cost) })
		column = column[:min(choices, len(column))]
		if k := len(columns); k > 0 {
			for i := range column {
				best := math.Inf(1)
				for j, b := range columns[k-1] {
					if c := b.cost + wander*r3.Norm(r3.Sub(l.part.Mesh.Vertex(column[i].v), l.part.Mesh.Vertex(b.v))); c < best {
						best, column[i].from = c, j
					}
				}
				column[i].cost += best
			}
		}
		columns = append(columns, column)
	}
	if len(columns) == 0 {
		return nil
	}
	out := make([]mesh.VertexID, len(columns))
	last, at := columns[len(columns)-1], 0
	for i := range last {
		if last[i].cost < last[at].cost {
			at = i
		}
	}
	for k := len(columns) - 1; k >= 0; k-- {
		out[k] = columns[k][at].v
		at = columns[k][at].from
	}
	return out
}

// trim takes from the wax what would open the casts at any goal: rays from the vertices do
// not see what meets the surface between them.
func (l *layer) trim(ctx context.Context) error {
	m, err := surface.Moved(l.part.Mesh, l.directions(), func(v mesh.VertexID) float64 { return l.thick[v] })
	if err != nil {
		return err
	}
	own := carve.Side{Mesh: m, Out: l.directions(), Cost: make([]int64, m.NumVertices()), Most: make([]int32, m.NumVertices())}
	for v := range own.Cost {
		own.Cost[v], own.Most[v] = 1, int32(math.Ceil(1000*l.thick[v]))
	}
	opposite, err := l.opposite(l.cast.Frames[l.tooth].Centre)
	if err != nil {
		return err
	}
	up, lo := own, opposite
	if l.jaw == dentition.Lower {
		up, lo = lo, up
	}
	cu, cl, err := carve.Carve(ctx, up, lo, l.carveGoals())
	if err != nil {
		return err
	}
	if l.jaw == dentition.Lower {
		cu = cl
	}
	for v := range l.thick {
		l.thick[v] = max(0, l.thick[v]-float64(cu.Um[v])/1000)
	}
	return nil
}

// waxClears is by how much, at the incisors, wax stays below what it may reach, mm: the
// tolerance of the carving, so that it opens the casts nowhere.
const waxClears = 0.002

// carveGoals lists the goals as package carve takes them. The tooth as it is touches at some
// of them already.
func (l *layer) carveGoals() []carve.Goal {
	goals := make([]carve.Goal, len(l.goals))
	for i := range goals {
		goals[i] = l.goals[i].Goal
		goals[i].Opening -= waxClears / leverMM
		goals[i].Loose = true
	}
	return goals
}

// leverMM is about the distance of the incisors from the hinge axis, mm.
const leverMM = 90

// opposite is the teeth of the other cast near a place, of which nothing may go.
func (l *layer) opposite(centre r3.Vec) (carve.Side, error) {
	part, err := surface.Cut(l.other.Mesh(), func(t mesh.TriID) bool {
		f, ok := l.other.Frames[l.other.Tooth(t)]
		return ok && r3.Norm(r3.Sub(f.Centre, centre)) < 2*neighbourMM
	})
	if err != nil {
		return carve.Side{}, err
	}
	s := carve.Side{Mesh: part.Mesh, Out: surface.Normals(part.Mesh), Cost: make([]int64, part.Mesh.NumVertices()),
		Most: make([]int32, part.Mesh.NumVertices())}
	for v := range s.Cost {
		s.Cost[v] = 1
	}
	return s, nil
}

func (l *layer) directions() []r3.Vec {
	out := make([]r3.Vec, l.part.Mesh.NumVertices())
	for v := range out {
		out[v] = l.along
	}
	return out
}

// tidy takes wax away until no edge without any lies between two triangles with some: there
// the wax would hang together by an edge alone and be no body.
func (l *layer) tidy() {
	for v := range l.thick {
		if l.thick[v] < waxLeast {
			l.thick[v] = 0
		}
	}
	m := l.scan.Mesh // beyond the tooth too, where a triangle has a corner of it
	thick := func(v mesh.VertexID) float64 {
		if of := l.part.Of[v]; of >= 0 {
			return l.thick[of]
		}
		return 0
	}
	top := mesh.BuildTopology(m)
	for again := true; again; {
		again = false
		for _, e := range top.Edges() {
			if e.Tri[1] == mesh.None || thick(e.V[0]) > 0 || thick(e.V[1]) > 0 {
				continue
			}
			a, b := apex(m, e.Tri[0], e.V), apex(m, e.Tri[1], e.V)
			if thick(a) > 0 && thick(b) > 0 {
				if thick(b) < thick(a) {
					a = b
				}
				l.thick[l.part.Of[a]], again = 0, true
			}
		}
	}
}

// apex is the corner of a triangle that is not on an edge of it.
func apex(m *mesh.Mesh, t mesh.TriID, edge [2]mesh.VertexID) mesh.VertexID {
	c := m.Triangle(t)
	for _, v := range c {
		if v != edge[0] && v != edge[1] {
			return v
		}
	}
	return c[0]
}

// finish takes the wax over into the scan and the document.
func (w *work) finish(step int, l *layer, material casefile.Material) error {
	if err := l.trim(w.ctx); err != nil {
		return err
	}
	l.tidy()
	st := treatment.Step{Of: step + 1, Kind: treatment.Wax, Stage: l.stage, Jaw: l.jaw.String(), Tooth: findings.Part(l.tooth),
		Movement: l.move}
	thickest := 0
	for v := range l.thick {
		if l.thick[v] > l.thick[thickest] {
			thickest = v
		}
	}
	if l.thick[thickest] == 0 {
		return &refusal{stage: l.stage, movement: l.move, why: language.Say("trial.refused.room",
			language.With{"tooth": findings.Part(l.tooth)})}
	}
	at := l.part.Mesh.Vertex(mesh.VertexID(thickest))
	normals := surface.Normals(l.part.Mesh)
	p := findings.VecOf(at)
	chart := anatomy.NewChart(l.cast.Frames[l.tooth], l.cast.Landmarks)
	st.PointMM, st.Site = &p, chart.At(at).Words()
	st.ThickestUm = 1000 * l.thick[thickest] * r3.Dot(normals[thickest], l.along)
	for t, c := range l.part.Mesh.All() {
		if l.thick[c[0]] > 0 && l.thick[c[1]] > 0 && l.thick[c[2]] > 0 {
			st.AreaMM2 += r3.Norm(l.part.Mesh.AreaVector(t))
		}
	}
	st.LimitedBy, st.Warning = l.limited(thickest), l.thin(material)
	shaped := l.shaped()
	s, err := w.wear(l)
	if err != nil {
		return err
	}
	st.VolumeMM3, st.Shaped = s.volume(), shaped
	w.add(st)
	return nil
}

// wear makes the scan with the wax on it, and the shell of the wax.
func (w *work) wear(l *layer) (shell, error) {
	pose := l.x.Casts.Mount
	scan := w.upper
	if l.jaw == dentition.Lower {
		pose, scan = pose.Then(l.x.Casts.Settling.Pose.Pose), w.lower
	}
	along := pose.Inverse().Rotate(l.along)
	thick := make([]float64, l.scan.Mesh.NumVertices())
	dir := make([]r3.Vec, len(thick))
	for v, whole := range l.part.Whole {
		thick[whole], dir[whole] = l.thick[v], along
	}
	m, err := surface.Moved(l.scan.Mesh, dir, func(v mesh.VertexID) float64 { return thick[v] })
	if err != nil {
		return shell{}, err
	}
	out, _, err := surface.Surface{Mesh: m, Labels: l.scan.Labels}.Scan(l.jaw)
	if err != nil {
		return shell{}, err
	}
	out.Found, out.Unfound, out.Merged = scan.Found, scan.Unfound, scan.Merged
	s := newShell(l.scan.Mesh, m, thick)
	w.shells = append(w.shells, s)
	if l.jaw == dentition.Lower {
		w.set(w.upper, out)
	} else {
		w.set(out, w.lower)
	}
	return s, nil
}
