package trial

import (
	"context"
	"errors"
	"math"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/internal/register"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"github.com/cusptrace/cusptrace/pkg/treatment"
	"github.com/cusptrace/cusptrace/pkg/trial/internal/carve"
	"github.com/cusptrace/cusptrace/pkg/trial/internal/surface"
	"gonum.org/v1/gonum/spatial/r3"
)

// form gives a tooth the form of its twin, mirrored and fitted to the neighbours: a worn
// tooth is waxed up to it as far as the opposing arch leaves room, a missing one gets it as
// a crown of its own.
func (w *work) form(step int, x *casefile.Wax) error {
	now, err := w.look(findings.Right, findings.Left, findings.Protrusive)
	if err != nil {
		return err
	}
	jaw := x.Tooth.Jaw()
	l := &layer{tooth: x.Tooth, jaw: jaw, x: now, cast: now.Casts.Upper, other: now.Casts.Lower, stage: "form"}
	if jaw == dentition.Lower {
		l.cast, l.other = l.other, l.cast
	}
	twin := x.Form.Mirror
	if _, ok := l.cast.Frames[twin]; !ok {
		return &refusal{stage: "form", why: language.Say("trial.refused.missing", language.With{"tooth": findings.Part(twin)})}
	}
	pose, ok := mirrorFit(l.cast, x.Tooth)
	if !ok {
		return &refusal{stage: "form", why: language.Say("trial.refused.twin", language.With{"tooth": findings.Part(x.Tooth)})}
	}
	if err := l.allow(w, now, x); err != nil {
		return err
	}
	_, there := l.cast.Frames[x.Tooth]
	if there {
		if pose, err = ownFit(w.ctx, l.cast, x.Tooth, pose); err != nil {
			return err
		}
	}
	crown, err := mirrored(l.cast, twin, pose)
	if err != nil {
		return err
	}
	if !there {
		return w.newCrown(step, l, crown, x.Material)
	}
	l.along = l.cast.Frames[x.Tooth].Occlusal
	if err := l.refine(); err != nil {
		return err
	}
	if err := l.room(w.ctx); err != nil {
		return err
	}
	if err := l.raise(w, crown); err != nil {
		return err
	}
	return w.finish(step, l, x.Material)
}

// Both are our choice.
const (
	// fitMM is how far from the tooth's place landmarks are used to fit its mirrored twin, mm.
	fitMM = 25.0
	// fitLeast is the fewest landmarks that a fit needs.
	fitLeast = 4
)

// mirrorFit finds the rigid motion that takes the mirrored other side of an arch to the
// side of a tooth: the one for which the landmarks of its neighbours come nearest to those
// of the mirrored teeth (least squares). The tooth
// itself and its twin do not count.
func mirrorFit(c *casts.Cast, t dentition.ToothID) (kinematics.Pose, bool) {
	twin := t.Mirror()
	centre := kinematics.Mirrored(c.Frames[twin].Centre)
	var from, to []r3.Vec
	for _, a := range c.Landmarks {
		if a.Tooth == t || a.Tooth.Quadrant() != t.Quadrant() || a.Confidence < casts.SureCusp {
			continue
		}
		for _, b := range c.Landmarks {
			if b.Tooth == a.Tooth.Mirror() && b.Feature == a.Feature && b.Confidence >= casts.SureCusp &&
				r3.Norm(r3.Sub(kinematics.Mirrored(b.Point), centre)) < fitMM {
				from, to = append(from, kinematics.Mirrored(b.Point)), append(to, a.Point)
			}
		}
	}
	if len(from) < fitLeast {
		return kinematics.Pose{}, false
	}
	return register.Points(from, to)
}

// All are our choice.
const (
	ownReachMM = 1.0 // how far from the tooth's own surface the mirrored form is looked for, mm
	ownLeast   = 60  // vertices on which a fit of the own surface rests at least
	ownRounds  = 30
)

// ownFit moves a mirrored form that was fitted to the neighbours onto what is left of the tooth's
// own surface; what is worn away counts for nothing. Where too little of it lies near the form the
// fit to the neighbours stays.
func ownFit(ctx context.Context, c *casts.Cast, t dentition.ToothID, pose kinematics.Pose) (kinematics.Pose, error) {
	form, err := mirrored(c, t.Mirror(), kinematics.Pose{})
	if err != nil {
		return pose, err
	}
	x, err := index.New(ctx, form, nil, index.Options{})
	if err != nil {
		return pose, err
	}
	own, err := surface.Cut(c.Mesh(), func(k mesh.TriID) bool { return c.Tooth(k) == t })
	if err != nil {
		return pose, err
	}
	f, ok := register.Onto(ctx, own.Mesh.Vertices(), x, pose.Inverse(),
		register.Options{Reach: ownReachMM, Rounds: ownRounds, Least: ownLeast})
	if !ok {
		return pose, ctx.Err()
	}
	return f.Pose.Inverse(), nil
}

// mirrored is the crown of a tooth on the other side of the arch: mirrored, then moved.
func mirrored(c *casts.Cast, twin dentition.ToothID, pose kinematics.Pose) (*mesh.Mesh, error) {
	part, err := surface.Cut(c.Mesh(), func(t mesh.TriID) bool { return c.Tooth(t) == twin })
	if err != nil {
		return nil, err
	}
	verts := make([]r3.Vec, part.Mesh.NumVertices())
	for v, p := range part.Mesh.Vertices() {
		verts[v] = pose.Apply(kinematics.Mirrored(p))
	}
	tris := append([][3]mesh.VertexID(nil), part.Mesh.Triangles()...)
	for i := range tris {
		tris[i][1], tris[i][2] = tris[i][2], tris[i][1]
	}
	return mesh.Adopt(verts, tris)
}

// fade is how far from the border of the tooth a form runs out, mm; our choice.
const fade = 0.5

// raise lays wax up to a form, as far as there is room, running out to the tooth's border.
func (l *layer) raise(w *work, form *mesh.Mesh) error {
	x, err := index.New(w.ctx, form, nil, index.Options{})
	if err != nil {
		return err
	}
	m := l.part.Mesh
	border := make([]bool, m.NumVertices())
	for _, loop := range mesh.BuildTopology(m).Loops() {
		for _, v := range loop.Vertices {
			border[v] = true
		}
	}
	var edge []r3.Vec
	for v, yes := range border {
		if yes {
			edge = append(edge, m.Vertex(mesh.VertexID(v)))
		}
	}
	l.thick = make([]float64, m.NumVertices())
	return par.Chunks(w.ctx, m.NumVertices(), 256, 0, func(_, first, last int) error {
		for v := first; v < last; v++ {
			p := m.Vertex(mesh.VertexID(v))
			h, ok := x.Ray(p, l.along, waxMost)
			if !ok || l.most[v] == 0 {
				continue
			}
			near := math.Inf(1)
			for _, q := range edge {
				near = min(near, r3.Norm(r3.Sub(p, q)))
			}
			if l.thick[v] = min(l.most[v], h.Dist*(1-slope(near/fade))); l.thick[v] < waxLeast {
				l.thick[v] = 0
			}
		}
		return nil
	})
}

// crownMost is how much of a mirrored crown may be taken away where it meets the opposing
// arch, µm; our choice.
const crownMost = 1500

// newCrown sets a crown where a tooth is missing: what of it opposing teeth need is taken
// away at all positions that the casts reach today.
func (w *work) newCrown(step int, l *layer, crown *mesh.Mesh, material casefile.Material) error {
	own := carve.Side{Mesh: crown, Out: surface.Directions(crown, evenMM, func(mesh.VertexID) bool { return true }),
		Cost: make([]int64, crown.NumVertices()), Most: make([]int32, crown.NumVertices())}
	for v, a := range surface.Areas(crown) {
		own.Cost[v], own.Most[v] = max(1, int64(1e4*a)), crownMost
	}
	opposite, err := l.opposite(crown.Bounds().Center())
	if err != nil {
		return err
	}
	up, lo := own, opposite
	if l.jaw == dentition.Lower {
		up, lo = lo, up
	}
	cu, cl, err := carve.Carve(w.ctx, up, lo, l.carveGoals())
	var no *carve.InfeasibleError
	if errors.As(err, &no) {
		g := &l.goals[no.Goal]
		return &refusal{stage: l.stage, movement: g.movement, why: language.Say("trial.refused.crown",
			language.With{"tooth": findings.Part(l.tooth), "need": float64(no.NeedUm) / 1000,
				"movement": language.Say("movement." + string(g.movement)), "at": g.travel})}
	}
	if err != nil {
		return err
	}
	if l.jaw == dentition.Lower {
		cu = cl
	}
	after, err := surface.Moved(crown, own.Out, func(v mesh.VertexID) float64 { return -float64(cu.Um[v]) / 1000 })
	if err != nil {
		return err
	}
	if err := w.setCrown(step, l, crown, closedBelow(after), cu); err != nil || material == "" {
		return err
	}
	w.doc.Steps[len(w.doc.Steps)-1].Warning = language.Say("trial.warn.missing")
	return nil
}

// closedBelow closes the borders of a crown by fans about their middles.
func closedBelow(m *mesh.Mesh) shell {
	s := shell{verts: append([]r3.Vec(nil), m.Vertices()...), tris: append([][3]mesh.VertexID(nil), m.Triangles()...)}
	for _, loop := range mesh.BuildTopology(m).Loops() {
		var sum r3.Vec
		for _, v := range loop.Vertices {
			sum = r3.Add(sum, m.Vertex(v))
		}
		middle := mesh.VertexID(len(s.verts))
		s.verts = append(s.verts, r3.Scale(1/float64(len(loop.Vertices)), sum))
		for i, v := range loop.Vertices {
			s.tris = append(s.tris, [3]mesh.VertexID{loop.Vertices[(i+1)%len(loop.Vertices)], v, middle})
		}
	}
	return s
}

// setCrown adds a crown to the scan and the document.
func (w *work) setCrown(step int, l *layer, crown *mesh.Mesh, s shell, cut carve.Cut) error {
	pose, scan := l.x.Casts.Mount, w.upper
	if l.jaw == dentition.Lower {
		pose, scan = pose.Then(l.x.Casts.Settling.Pose.Pose), w.lower
	}
	back := pose.Inverse()
	of := surface.Of(scan)
	verts, labels := append([]r3.Vec(nil), of.Mesh.Vertices()...), append([]dentition.ToothID(nil), of.Labels...)
	tris := append([][3]mesh.VertexID(nil), of.Mesh.Triangles()...)
	first := mesh.VertexID(len(verts))
	var volume, area float64
	for i, p := range s.verts {
		s.verts[i] = back.Apply(p)
		verts, labels = append(verts, s.verts[i]), append(labels, l.tooth)
	}
	for _, c := range s.tris {
		tris = append(tris, [3]mesh.VertexID{c[0] + first, c[1] + first, c[2] + first})
		a, b, d := s.verts[c[0]], s.verts[c[1]], s.verts[c[2]]
		volume += tetra(a, b, d)
		area += r3.Norm(r3.Cross(r3.Sub(b, a), r3.Sub(d, a))) / 2
	}
	m, err := mesh.Adopt(verts, tris)
	if err != nil {
		return err
	}
	out, _, err := surface.Surface{Mesh: m, Labels: labels}.Scan(l.jaw)
	if err != nil {
		return err
	}
	out.Found, out.Unfound, out.Merged = scan.Found, scan.Unfound, scan.Merged
	st := treatment.Step{Of: step + 1, Kind: treatment.Wax, Stage: l.stage, Jaw: l.jaw.String(), Tooth: findings.Part(l.tooth),
		AreaMM2: area, VolumeMM3: volume}
	deepest := 0
	for v := range cut.Um {
		if cut.Um[v] > cut.Um[deepest] {
			deepest = v
		}
	}
	if g := cut.By[deepest]; g >= 0 {
		by := l.goals[g]
		if h, ok := l.other.Index.Nearest(l.toOther(int(g), crown.Vertex(mesh.VertexID(deepest))), waxMost); ok {
			by.upper = findings.Part(l.other.Tooth(h.Tri))
			by.lower = by.upper
		}
		st.LimitedBy = by.words(l.jaw)
	}
	w.add(st)
	w.shells = append(w.shells, s)
	if l.jaw == dentition.Lower {
		w.set(w.upper, out)
	} else {
		w.set(out, w.lower)
	}
	return nil
}
