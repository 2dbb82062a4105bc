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
		g := l.by[v]
		if g < 0 || l.thick[v] < waxLeast || l.thick[v] < l.most[v]-reachedMM {
			continue
		}
		p := l.part.Mesh.Vertex(mesh.VertexID(v))
		h, ok := l.other.Index.Ray(l.toOther(int(g), p), l.turnToOther(int(g), l.along), waxMost)
		if !ok {
			continue
		}
		goal := &l.goals[g]
		k := key{findings.Part(l.other.Tooth(h.Tri)), goal.movement}
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
