package geom

import "gonum.org/v1/gonum/spatial/r3"

// RayTriangle is the parameter t ≥ 0 at which the ray o + t·d meets the closed
// triangle abc from either side. A ray in the triangle's plane misses.
func RayTriangle(o, d, a, b, c r3.Vec) (t float64, ok bool) {
	// Möller and Trumbore 1997, J Graphics Tools 2:21-28.
	e1, e2 := r3.Sub(b, a), r3.Sub(c, a)
	p := r3.Cross(d, e2)
	det := r3.Dot(e1, p)
	if det == 0 {
		return 0, false
	}
	s := r3.Sub(o, a)
	u := r3.Dot(s, p) / det
	if u < 0 || u > 1 {
		return 0, false
	}
	q := r3.Cross(s, e1)
	v := r3.Dot(d, q) / det
	if v < 0 || u+v > 1 {
		return 0, false
	}
	t = r3.Dot(e2, q) / det
	return t, t >= 0
}
