package typodont

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// normals are the vertices' area-weighted outward unit normals; zero where no
// triangle is left, as grinding leaves some.
func (s *surface) normals() []r3.Vec {
	n := make([]r3.Vec, len(s.verts))
	for _, t := range s.tris {
		a, b, c := s.verts[t[0]], s.verts[t[1]], s.verts[t[2]]
		w := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
		for _, v := range t {
			n[v] = r3.Add(n[v], w)
		}
	}
	for i := range n {
		if r3.Norm2(n[i]) > 0 {
			n[i] = r3.Unit(n[i])
		}
	}
	return n
}

// noise moves the vertices along their normals by a random field that is smooth
// over the given length and has the given root mean square (mm): it depends on
// the place and the seed only, not on the mesh.
func (s *scan) noise(rms, length float64, seed uint64) {
	for i, n := range s.normals() {
		v := s.verts[i]
		s.verts[i] = addScaled(v, rms*field(r3.Scale(1/length, v), seed), n)
	}
}

// field is a random field of mean 0 and variance about 1: independent values at
// whole coordinates, blended smoothly in between and scaled to keep the variance.
func field(p r3.Vec, seed uint64) float64 {
	fx, fy, fz := math.Floor(p.X), math.Floor(p.Y), math.Floor(p.Z)
	tx, ty, tz := step(p.X-fx), step(p.Y-fy), step(p.Z-fz)
	sum, power := 0.0, 0.0
	for k := range 8 {
		w := 1.0
		x, y, z := int64(fx), int64(fy), int64(fz)
		for _, c := range []struct {
			bit int
			t   float64
			i   *int64
		}{{4, tx, &x}, {2, ty, &y}, {1, tz, &z}} {
			if k&c.bit != 0 {
				w *= c.t
				*c.i++
			} else {
				w *= 1 - c.t
			}
		}
		sum += w * gauss(x, y, z, seed)
		power += w * w
	}
	return sum / math.Sqrt(power)
}

// gauss is a nearly normal random number that belongs to a whole place: the sum
// of four even ones, from the SplitMix64 generator (Steele, Lea and Flood 2014).
func gauss(x, y, z int64, seed uint64) float64 {
	h := seed
	next := func(v uint64) uint64 {
		h += 0x9e3779b97f4a7c15 + v
		q := h
		q = (q ^ q>>30) * 0xbf58476d1ce4e5b9
		q = (q ^ q>>27) * 0x94d049bb133111eb
		h = q ^ q>>31
		return h
	}
	next(uint64(x))
	next(uint64(y))
	next(uint64(z))
	sum := 0.0
	for range 4 {
		sum += float64(next(0)>>11)/(1<<53) - 0.5
	}
	return sum * math.Sqrt(3) // variance of the sum is 4/12
}

// patch makes a hole, an island or a flipped patch around the middle of a
// tooth's buccal wall.
func (s *scan) patch(t *tooth, d Disturbance) {
	at := t.world(0, t.crown.bl/2, -t.crown.length/2)
	near, best := r3.Vec{}, math.Inf(1)
	for i, v := range s.verts {
		if s.tooth[i] >= 0 && &s.teeth[s.tooth[i]] == t {
			if r := r3.Norm(r3.Sub(v, at)); r < best {
				near, best = v, r
			}
		}
	}
	inside := func(tri [3]int32) bool {
		for _, v := range tri {
			if r3.Norm(r3.Sub(s.verts[v], near)) > d.MM {
				return false
			}
		}
		return true
	}
	copied := map[int32]int32{}
	var kept [][3]int32
	for _, tri := range s.tris {
		in := inside(tri)
		switch {
		case in && d.Kind == Hole:
			continue
		case in && d.Kind == Flipped:
			tri[1], tri[2] = tri[2], tri[1]
		}
		kept = append(kept, tri)
		if in && d.Kind == Island {
			var c [3]int32
			for k, v := range tri {
				w, ok := copied[v]
				if !ok {
					w = int32(len(s.verts))
					copied[v] = w
					s.verts = append(s.verts, addScaled(s.verts[v], 2, t.b))
					s.tooth = append(s.tooth, -1)
				}
				c[k] = w
			}
			kept = append(kept, c)
		}
	}
	s.tris = kept
}
