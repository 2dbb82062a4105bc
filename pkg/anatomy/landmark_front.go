package anatomy

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// ends is where the incisal edge's ends lie, in shares of half the crown's
// width: before its corners are rounded off.
const ends = 0.8

const (
	// edgeDrop is how far below its highest spot an incisal edge is still the edge,
	// mm; beyond lie the proximal faces. Our choice: rounded corners fall by 1 mm.
	edgeDrop = 2.0
	// notch is how far the silhouette must rise again for a neighbour to begin there,
	// mm, and notchFrom the share of half the width from which one is looked for, so
	// that mamelons and chips of the edge are none. Our choices.
	notch, notchFrom = 0.25, 0.45
)

// edgeScore is the confidence in a spot at the height of the crown's highest; our choice.
const edgeScore = 0.95

// edgeSpan is from where to where, to mesial, the incisal edge of the crown reaches,
// whatever the border of its label: the silhouette from buccal is followed from its
// highest spot in the middle third to both sides, until it has fallen below the edge,
// or rises again on a neighbour's crown.
func (h *heightMap) edgeSpan(lo, hi r3.Vec) (from, to float64, ok bool) {
	tops := make([]float64, h.nx)
	for i := range tops {
		tops[i] = slices.Max(h.z[i*h.ny : (i+1)*h.ny])
	}
	mid, half := (lo.X+hi.X)/2, (hi.X-lo.X)/2
	start := -1
	for i, z := range tops {
		if x, _ := h.at(i, 0); math.Abs(x-mid) < half/3 && (start < 0 || z > tops[start]) {
			start = i
		}
	}
	if start < 0 || math.IsInf(tops[start], -1) {
		return 0, 0, false
	}
	walk := func(step int, end float64) float64 {
		last, lowest, beyond := start, start, half
		for i := start; i >= 0 && i < h.nx; i += step {
			x, _ := h.at(i, 0)
			z := tops[i]
			if z < tops[start]-edgeDrop && !math.IsInf(z, -1) {
				beyond = cell / 2
				break
			}
			if math.Abs(x-mid) > notchFrom*half && z > tops[lowest]+notch {
				last, beyond = lowest, cell/2
				break
			}
			if math.IsInf(z, -1) {
				continue
			}
			if last = i; z <= tops[lowest] {
				lowest = i
			}
		}
		// Beyond its last whole triangle a crown reaches to about the middle of the next
		// side, but no farther than its outermost vertex.
		x, _ := h.at(last, 0)
		return x + float64(step)*min(beyond, h.grain/2+cell/2, math.Abs(end-x))
	}
	from, to = walk(-1, lo.X), walk(1, hi.X)
	return from, to, to > from
}

// incisal finds the incisal edge and its ends.
func (r *Relief) incisal(h *heightMap, lo, hi r3.Vec) []spot {
	from, to, ok := h.edgeSpan(lo, hi)
	if !ok {
		return nil
	}
	line := spot{feature: IncisalEdge}
	const parts = 8
	for i := range parts + 1 {
		x := (from+to)/2 + (to-from)/2*ends*(1-2*float64(i)/parts)
		if p, ok := h.extreme(x, lo.Y, x, hi.Y, high); ok {
			line.line = append(line.line, p)
		}
	}
	if len(line.line) != parts+1 {
		return nil
	}
	line.at = line.line[parts/2]
	score := func(p r3.Vec) float64 {
		fall := (hi.Z - p.Z) / edgeDrop
		return edgeScore * (1 - fall*fall)
	}
	line.confidence = score(line.at)
	return []spot{
		{feature: MesioincisalEdge, at: line.line[0], confidence: score(line.line[0])}, line,
		{feature: DistoincisalEdge, at: line.line[parts], confidence: score(line.line[parts])},
	}
}

// front finds edge, cingulum and lingual fossa of an anterior tooth.
func (r *Relief) front(h heightMap) []spot {
	lo, hi := r.extent()
	mid, half := r3.Scale(0.5, r3.Add(lo, hi)), r3.Scale(0.5, r3.Sub(hi, lo))
	var out []spot
	edge, _ := h.extreme(mid.X, lo.Y, mid.X, hi.Y, high)
	if r.Frame.Tooth.Type().Incisor() {
		out = r.incisal(&h, lo, hi)
	} else {
		edge.Z = math.Inf(-1)
		for _, p := range r.Points {
			if p.Z > edge.Z {
				edge = p
			}
		}
	}
	cingulum, ok := r.cingulum(mid, half, hi)
	if !ok {
		return out
	}
	out = append(out, cingulum)
	if fossa, ok := r.lingualFossa(mid, half, edge, cingulum.at); ok {
		out = append(out, fossa)
	}
	return out
}

// cingulum is the most lingual spot of the middle third's cervical half. Where
// it lies on the border of the label, gingiva may hide the true one.
func (r *Relief) cingulum(mid, half, hi r3.Vec) (spot, bool) {
	best := int32(-1)
	for v, p := range r.Points {
		if math.Abs(p.X-mid.X) < half.X/3 && p.Z < hi.Z-0.9*half.Z && (best < 0 || p.Y < r.Points[best].Y) {
			best = int32(v)
		}
	}
	if best < 0 {
		return spot{}, false
	}
	s := spot{feature: Cingulum, at: r.Points[best], confidence: 0.85}
	if r.Border[best] {
		s.confidence = 0.4
	}
	return s, true
}

// lingualFossa is the spot of the lingual face that lies deepest behind the
// straight line from edge to cingulum. Canines have two such hollows beside a
// ridge, and their deeper one is taken.
func (r *Relief) lingualFossa(mid, half, edge, cingulum r3.Vec) (spot, bool) {
	along := r3.Sub(cingulum, edge)
	length := math.Hypot(along.Y, along.Z)
	if length < 2 {
		return spot{}, false
	}
	// The normal of the line in the buccolingual plane, to buccal.
	ny, nz := -along.Z/length, along.Y/length
	if ny < 0 {
		ny, nz = -ny, -nz
	}
	hand := 1.0
	if r.Frame.Tooth.Quadrant()%2 == 0 {
		hand = -1
	}
	best, deepest := r3.Vec{}, math.Inf(-1)
	for _, t := range r.Triangles {
		a, b, c := r.Points[t[0]], r.Points[t[1]], r.Points[t[2]]
		if hand*r3.Cross(r3.Sub(b, a), r3.Sub(c, a)).Y >= 0 {
			continue // not on the lingual side
		}
		p := r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
		share := ((p.Y-edge.Y)*along.Y + (p.Z-edge.Z)*along.Z) / (length * length)
		if math.Abs(p.X-mid.X) > half.X*0.6 || share < 0.2 || share > 0.9 {
			continue
		}
		if d := (p.Y-edge.Y)*ny + (p.Z-edge.Z)*nz; d > deepest {
			best, deepest = p, d
		}
	}
	if math.IsInf(deepest, -1) || deepest < 0 {
		return spot{}, false
	}
	return spot{feature: LingualFossa, at: best, confidence: 0.9 * deepest / (deepest + 0.15)}, true
}
