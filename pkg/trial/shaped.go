package trial

import (
	"cmp"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/treatment"
	"github.com/cusptrace/cusptrace/pkg/trial/internal/surface"
)

// reachedMM is how near wax comes to the room that a position leaves where that position has
// shaped it, mm: above what trimming takes off. Our choice.
const reachedMM = 0.01

// shaped says which opposing teeth have shaped the wax, in which movements and at which travels:
// where it reaches as far as they leave room. The largest area comes first.
func (l *layer) shaped() []treatment.Shaping {
	type key struct {
		opposing findings.Part
		movement findings.Movement
	}
	found := map[key]*treatment.Shaping{}
	var order []key
	for v, mm2 := range surface.Areas(l.part.Mesh) {
		if !l.reached(v) {
			continue
		}
		opposing, ok := l.bounds(v)
		if !ok {
			continue
		}
		goal := &l.goals[l.by[v]]
		k := key{opposing, goal.movement}
		s := found[k]
		if s == nil {
			s = &treatment.Shaping{Opposing: k.opposing, Movement: k.movement, FromMM: math.Inf(1)}
			found[k], order = s, append(order, k)
		}
		s.FromMM, s.ToMM, s.AreaMM2 = min(s.FromMM, goal.travel), max(s.ToMM, goal.travel), s.AreaMM2+mm2
	}
	out := make([]treatment.Shaping, len(order))
	for i, k := range order {
		out[i] = *found[k]
	}
	slices.SortStableFunc(out, func(a, b treatment.Shaping) int { return cmp.Compare(b.AreaMM2, a.AreaMM2) })
	return out
}

// reached says whether the wax at a vertex reaches as far as opposing teeth leave room.
func (l *layer) reached(v int) bool {
	return l.by[v] >= 0 && l.thick[v] >= waxLeast && l.thick[v] >= l.most[v]-reachedMM
}

// bounds is the opposing tooth that bounds the room at a vertex; not ok where none does.
func (l *layer) bounds(v int) (opposing findings.Part, ok bool) {
	g := int(l.by[v])
	if g < 0 {
		return 0, false
	}
	h, ok := l.other.Index.Ray(l.toOther(g, l.part.Mesh.Vertex(mesh.VertexID(v))), l.turnToOther(g, l.along), waxMost)
	if !ok {
		return 0, false
	}
	return findings.Part(l.other.Tooth(h.Tri)), true
}

// limited says which opposing tooth bounds the room at a vertex, where; empty where none does.
func (l *layer) limited(v int) findings.Sentence {
	if l.by[v] < 0 {
		return findings.Sentence{}
	}
	by := l.goals[l.by[v]]
	if t, ok := l.bounds(v); ok {
		by.upper, by.lower = t, t
	}
	return by.words(l.jaw)
}
