package trial

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/par"
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
	"gonum.org/v1/gonum/spatial/r3"
)

// Both are our choice.
const (
	// fineEdge is the longest edge of the surface where it is worked on, mm: on a cusp of
	// radius 1 mm the chord misses the arc by 1.3 µm.
	fineEdge = 0.1
	// margin is how far around an overlap the surface is refined, mm.
	margin = 0.3
	// evenMM is over how much of the surface the direction of a cut is averaged, mm: about
	// the radius of a finishing bur.
	evenMM = 0.6
)

// bench is one cast on which a stage works.
type bench struct {
	jaw   dentition.Jaw
	cast  *casts.Cast     // in the relation in which it is worked on
	scan  surface.Surface // refined, in the frame of the scan
	posed *mesh.Mesh      // the same in the articulator frame
	part  surface.Part    // the teeth that take part
	out   []r3.Vec        // of each vertex of scan, the direction outwards in which it is moved
	pose  kinematics.Pose // from the scan's frame to the articulator's
	cut   carve.Cut       // of the part
}

// stage carves what the goals of a target need, and takes the result over.
func (w *work) stage(step int, a *casefile.Adjust, x *Examined, t target) error {
	var sides [2]*bench
	err := par.BothErr(func() (err error) {
		sides[0], err = w.prepare(dentition.Upper, x, t)
		return err
	}, func() (err error) {
		sides[1], err = w.prepare(dentition.Lower, x, t)
		return err
	})
	if err != nil {
		return err
	}
	rules := newRules(x, t, a)
	held, err := rules.held(w.ctx, x, t)
	if err != nil {
		return err
	}
	var in [2]carve.Side
	for i, b := range sides {
		in[i] = b.side(rules, held[i])
	}
	goals := make([]carve.Goal, len(t.goals))
	for i := range goals {
		goals[i] = t.goals[i].Goal
	}
	sides[0].cut, sides[1].cut, err = carve.Carve(w.ctx, in[0], in[1], goals)
	var no *carve.InfeasibleError
	if errors.As(err, &no) {
		return rules.refuse(t, sides, no)
	}
	if err != nil {
		return err
	}
	scans := [2]*casts.Scan{w.upper, w.lower}
	for i, b := range sides {
		w.record(step, t, b, rules)
		if scans[i], err = b.apply(scans[i]); err != nil {
			return err
		}
	}
	w.set(scans[0], scans[1])
	return nil
}

// teethOf lists the teeth of a jaw that may take part in a target: those that are in the
// way and their neighbours.
func (t *target) teethOf(jaw dentition.Jaw, cast *casts.Cast) [256]bool {
	var out [256]bool
	for _, g := range t.goals {
		k := g.upper.Tooth()
		if jaw == dentition.Lower {
			k = g.lower.Tooth()
		}
		f, ok := cast.Frames[k]
		if !ok {
			out[k] = true
			continue
		}
		for n, o := range cast.Frames {
			if r3.Norm(r3.Sub(o.Centre, f.Centre)) < neighbourMM {
				out[n] = true
			}
		}
		out[k] = true
	}
	return out
}

// neighbourMM is how far the middles of neighbours may lie apart: beyond the width of a
// molar; our choice.
const neighbourMM = 14.0

// prepare refines a cast where it overlaps the other at the goals.
func (w *work) prepare(jaw dentition.Jaw, x *Examined, t target) (*bench, error) {
	b := &bench{jaw: jaw, cast: castOf(x.Casts, jaw, t.given)}
	scan := x.Upper
	if jaw == dentition.Lower {
		scan = x.Lower
	}
	near := make([]bool, scan.Mesh.NumVertices())
	up, lo := castOf(x.Casts, dentition.Upper, t.given), castOf(x.Casts, dentition.Lower, t.given)
	var s contact.GapScratch
	var pairs []contact.Pair
	for _, g := range t.goals {
		pairs = contact.AppendPairs(pairs[:0], up.Index, lo.Index, g.Pose(), 0, &s)
		for _, p := range pairs {
			tri := p.Upper
			if jaw == dentition.Lower {
				tri = p.Lower
			}
			for _, v := range b.cast.Mesh().Triangle(tri) {
				near[v] = true
			}
		}
	}
	teeth := t.teethOf(jaw, b.cast)
	near = surface.Near(scan.Mesh, near, margin)
	near = filled(scan.Mesh, near)
	for v := range near {
		near[v] = near[v] && teeth[scan.Labels.Vertex(mesh.VertexID(v))]
	}
	var err error
	if b.scan, _, _, err = surface.Of(scan).Refine(near, fineEdge); err != nil {
		return nil, err
	}
	b.pose = x.Casts.Mount
	if jaw == dentition.Lower && !t.given {
		b.pose = b.pose.Then(x.Casts.Settling.Pose.Pose)
	}
	if b.posed, err = b.scan.Mesh.Transform(b.pose.Apply); err != nil {
		return nil, err
	}
	b.part, err = surface.Cut(b.posed, func(tri mesh.TriID) bool {
		c := b.posed.Triangle(tri)
		return teeth[b.scan.Labels[c[0]]] && teeth[b.scan.Labels[c[1]]] && teeth[b.scan.Labels[c[2]]]
	})
	b.out = surface.Directions(b.scan.Mesh, evenMM, func(v mesh.VertexID) bool { return b.part.Of[v] >= 0 })
	return b, err
}

// filled adds to the marked vertices those that lie between them: the middle of an overlap,
// around which the crossing triangles are.
func filled(m *mesh.Mesh, near []bool) []bool {
	const across = 1.5 // mm
	out := surface.Near(m, near, across)
	// A vertex is between marked ones if there are some on both sides of it in two of
	// three directions across; the box of those near it tells.
	cells := map[[3]int32][]r3.Vec{}
	cell := func(p r3.Vec) [3]int32 {
		return [3]int32{int32(math.Floor(p.X / across)), int32(math.Floor(p.Y / across)), int32(math.Floor(p.Z / across))}
	}
	for v, yes := range near {
		if yes {
			p := m.Vertex(mesh.VertexID(v))
			cells[cell(p)] = append(cells[cell(p)], p)
		}
	}
	for v := range out {
		if !out[v] || near[v] {
			continue
		}
		p := m.Vertex(mesh.VertexID(v))
		box, c := mesh.EmptyBox(), cell(p)
		for k := range 27 {
			for _, q := range cells[[3]int32{c[0] + int32(k%3) - 1, c[1] + int32(k/3%3) - 1, c[2] + int32(k/9) - 1}] {
				if r3.Norm(r3.Sub(p, q)) <= across {
					box = box.Include(q)
				}
			}
		}
		n := 0
		for _, in := range [3]bool{box.Min.X < p.X && p.X < box.Max.X, box.Min.Y < p.Y && p.Y < box.Max.Y, box.Min.Z < p.Z &&
			p.Z < box.Max.Z} {
			if in {
				n++
			}
		}
		out[v] = n >= 2
	}
	return out
}

// side is what of a bench's part may go.
func (b *bench) side(r *rules, held func(p r3.Vec) hold) carve.Side {
	m := b.part.Mesh
	s := carve.Side{Mesh: m, Cost: make([]int64, m.NumVertices()), Most: make([]int32, m.NumVertices())}
	areas := surface.Areas(m)
	for v, whole := range b.part.Whole {
		s.Out = append(s.Out, b.pose.Rotate(b.out[whole]))
		s.Body = append(s.Body, uint8(b.scan.Labels[whole]))
		p := m.Vertex(mesh.VertexID(v))
		g := r.region(b.cast, b.scan.Labels[whole], p)
		switch held(p) {
		case core:
			g.mostUm = 0
		case rim:
			g.weight *= rimWeight
		}
		s.Cost[v] = max(1, int64(math.Round(g.weight*1e4*areas[v])))
		s.Most[v] = int32(g.mostUm)
	}
	return s
}

// apply makes the scan after the cut.
func (b *bench) apply(scan *casts.Scan) (*casts.Scan, error) {
	um := make([]int32, b.scan.Mesh.NumVertices())
	for v, whole := range b.part.Whole {
		um[whole] = b.cut.Um[v]
	}
	m, err := surface.Moved(b.scan.Mesh, b.out, func(v mesh.VertexID) float64 { return -float64(um[v]) / 1000 })
	if err != nil {
		return nil, err
	}
	out, _, err := surface.Surface{Mesh: m, Labels: b.scan.Labels}.Scan(b.jaw)
	if err == nil {
		out.Found, out.Unfound, out.Merged = scan.Found, scan.Unfound, scan.Merged
	}
	return out, err
}

// spot is a connected patch of a cut on one tooth.
type spot struct {
	tooth   dentition.ToothID
	verts   []mesh.VertexID // of the part
	deepest mesh.VertexID
	um      int32
	area    float64
	volume  float64
}

// spots takes a cut apart.
func (b *bench) spots() []spot {
	m := b.part.Mesh
	tooth := func(v mesh.VertexID) dentition.ToothID { return b.scan.Labels[b.part.Whole[v]] }
	next := make([][]mesh.VertexID, m.NumVertices())
	for _, c := range m.All() {
		for k := range 3 {
			a, o := c[k], c[(k+1)%3]
			if b.cut.Um[a] > 0 && b.cut.Um[o] > 0 && tooth(a) == tooth(o) {
				next[a], next[o] = append(next[a], o), append(next[o], a)
			}
		}
	}
	number := make([]int, m.NumVertices())
	var out []spot
	for v := range number {
		if b.cut.Um[v] == 0 || number[v] > 0 {
			continue
		}
		s := spot{tooth: tooth(mesh.VertexID(v)), deepest: mesh.VertexID(v)}
		n := len(out) + 1
		number[v] = n
		queue := []mesh.VertexID{mesh.VertexID(v)}
		for len(queue) > 0 {
			u := queue[0]
			queue = queue[1:]
			s.verts = append(s.verts, u)
			if b.cut.Um[u] > s.um {
				s.um, s.deepest = b.cut.Um[u], u
			}
			for _, o := range next[u] {
				if number[o] == 0 {
					number[o] = n
					queue = append(queue, o)
				}
			}
		}
		out = append(out, s)
	}
	b.measure(out, number)
	// The deepest first.
	slices.SortStableFunc(out, func(a, c spot) int { return cmp.Compare(c.um, a.um) })
	return out
}

// measure fills in area and volume of spots: of the triangles that have a corner cut, also
// those beyond the teeth that take part, so that what was there and what is left close.
func (b *bench) measure(out []spot, number []int) {
	of := func(v mesh.VertexID) int {
		if p := b.part.Of[v]; p >= 0 {
			return number[p]
		}
		return 0
	}
	moved := func(v mesh.VertexID) r3.Vec {
		q := b.posed.Vertex(v)
		if p := b.part.Of[v]; p >= 0 {
			q = r3.Sub(q, r3.Scale(float64(b.cut.Um[p])/1000, b.pose.Rotate(b.out[v])))
		}
		return q
	}
	for t, c := range b.posed.All() {
		n := max(of(c[0]), of(c[1]), of(c[2]))
		if n == 0 {
			continue
		}
		s := &out[n-1]
		if of(c[0]) > 0 && of(c[1]) > 0 && of(c[2]) > 0 {
			s.area += r3.Norm(b.posed.AreaVector(t))
		}
		p, q, o := b.posed.Corners(t)
		s.volume += tetra(p, q, o) - tetra(moved(c[0]), moved(c[1]), moved(c[2]))
	}
}

func tetra(a, b, c r3.Vec) float64 { return r3.Dot(a, r3.Cross(b, c)) / 6 }

// specks are spots too small to be worked on by themselves, mm³; they are counted to the
// largest spot of their tooth. Our choice: a thousandth of a cubic millimetre.
const specks = 0.001

// record writes down the spots of a stage on one cast.
func (w *work) record(step int, t target, b *bench, r *rules) {
	var kept []spot
	for _, s := range b.spots() {
		i := slices.IndexFunc(kept, func(k spot) bool { return k.tooth == s.tooth })
		if i >= 0 && s.volume < specks {
			kept[i].area += s.area
			kept[i].volume += s.volume
			continue
		}
		kept = append(kept, s)
	}
	for _, s := range kept {
		at := b.part.Mesh.Vertex(s.deepest)
		p := findings.VecOf(at)
		st := treatment.Step{Of: step + 1, Kind: treatment.Adjust, Stage: string(t.stage), Jaw: b.jaw.String(), Tooth: findings.Part(s.tooth),
			Site: r.site(b.cast, s.tooth, at), PointMM: &p, DeepestUm: float64(s.um), AreaMM2: s.area, VolumeMM3: s.volume}
		if g := b.cut.By[s.deepest]; g >= 0 {
			st.Movement = t.goals[g].movement
			st.LimitedBy = t.goals[g].words(b.jaw)
		}
		for i := range t.frees {
			if f := &t.frees[i]; f.Upper == findings.Part(s.tooth) || f.Lower == findings.Part(s.tooth) {
				st.Frees = append(st.Frees, f.Text)
				w.settings(&st, f)
			}
		}
		if st.DeepestUm > warnUm {
			st.Warning = language.Say("trial.warn.deep", language.With{"um": float64(warnUm)})
		}
		w.add(st)
	}
}

// settings says how a depth depends on the settings, by what the examination of the casts as they
// came says of the finding that goes: the depth changes as the height of the finding does.
func (w *work) settings(st *treatment.Step, f *freed) {
	g := w.original.finding(f)
	if g == nil {
		return
	}
	if g.Robustness.State == findings.Depends {
		st.Warning = language.Say("trial.warn.depends")
	}
	if p := g.Probability; p != nil && p.HeightUm != nil && g.HeightUm != nil && *g.HeightUm > 0 {
		scale := st.DeepestUm / *g.HeightUm
		st.RangeUm = &findings.Spread{P10: scale * p.HeightUm.P10, P50: scale * p.HeightUm.P50, P90: scale * p.HeightUm.P90}
	}
}

// finding is that of the examination with the kind, the movement and the pair of another; nil where
// there is none.
func (x *Examined) finding(f *freed) *findings.Finding {
	list := x.Findings.Centric.Findings
	for i := range x.Findings.Excursions {
		if x.Findings.Excursions[i].Movement == f.movement {
			list = x.Findings.Excursions[i].Findings
		}
	}
	i := slices.IndexFunc(list, func(g findings.Finding) bool {
		return g.Kind == f.Kind && g.Upper == f.Upper && g.Lower == f.Lower
	})
	if i < 0 {
		return nil
	}
	return &list[i]
}

// warnUm is the depth above which a spot is pointed out, µm: half of what never exposed
// dentine on unworn first molars; our choice.
const warnUm = 300

// words say which opposing tooth asks for a depth, where.
func (g *goal) words(jaw dentition.Jaw) findings.Sentence {
	other := g.lower
	if jaw == dentition.Lower {
		other = g.upper
	}
	if g.movement == findings.Closed {
		return language.Say("trial.by.closed", language.With{"tooth": other})
	}
	return language.Say("trial.by.movement", language.With{"tooth": other,
		"movement": language.Say("movement." + string(g.movement)), "at": g.travel})
}
