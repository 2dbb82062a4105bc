package trial

import (
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// shell is the wax on one tooth as a closed surface, in the frame of the scans.
type shell struct {
	verts []r3.Vec
	tris  [][3]mesh.VertexID
}

// volume is what the shell holds, mm³.
func (s *shell) volume() float64 {
	sum := 0.0
	for _, c := range s.tris {
		sum += tetra(s.verts[c[0]], s.verts[c[1]], s.verts[c[2]])
	}
	return sum
}

// newShell makes the shell between a surface before and after wax: the outside of the wax
// and, turned over, the tooth under it. Where the wax runs out the two share their vertices.
func newShell(before, after *mesh.Mesh, thick []float64) shell {
	var s shell
	outer, inner := map[mesh.VertexID]mesh.VertexID{}, map[mesh.VertexID]mesh.VertexID{}
	number := func(of map[mesh.VertexID]mesh.VertexID, v mesh.VertexID, p r3.Vec) mesh.VertexID {
		if thick[v] == 0 {
			of = inner
		}
		n, ok := of[v]
		if !ok {
			n = mesh.VertexID(len(s.verts))
			s.verts = append(s.verts, p)
			of[v] = n
		}
		return n
	}
	for _, c := range before.All() {
		if thick[c[0]] == 0 && thick[c[1]] == 0 && thick[c[2]] == 0 {
			continue
		}
		var o, i [3]mesh.VertexID
		for k, v := range c {
			o[k], i[k] = number(outer, v, after.Vertex(v)), number(inner, v, before.Vertex(v))
		}
		s.tris = append(s.tris, o, [3]mesh.VertexID{i[0], i[2], i[1]})
	}
	return s
}

// waxAlone joins the shells; nil where there is no wax.
func (w *work) waxAlone() (*mesh.Mesh, error) {
	if len(w.shells) == 0 {
		return nil, nil
	}
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for _, s := range w.shells {
		first := mesh.VertexID(len(verts))
		verts = append(verts, s.verts...)
		for _, c := range s.tris {
			tris = append(tris, [3]mesh.VertexID{c[0] + first, c[1] + first, c[2] + first})
		}
	}
	return mesh.Adopt(verts, tris)
}
