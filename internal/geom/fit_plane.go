package geom

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// PlaneFit fits z = a·x + b·y + c to points added one by one, by least squares.
type PlaneFit struct{ n, x, y, z, xx, xy, yy, xz, yz float64 }

// Add takes a point in.
func (f *PlaneFit) Add(x, y, z float64) {
	f.n, f.x, f.y, f.z = f.n+1, f.x+x, f.y+y, f.z+z
	f.xx, f.xy, f.yy, f.xz, f.yz = f.xx+x*x, f.xy+x*y, f.yy+y*y, f.xz+x*z, f.yz+y*z
}

// Slopes is a and b, both 0 and false where the points lie nearly on a line.
func (f *PlaneFit) Slopes() (a, b float64, ok bool) {
	xx, xy, yy := f.xx-f.x*f.x/f.n, f.xy-f.x*f.y/f.n, f.yy-f.y*f.y/f.n
	xz, yz := f.xz-f.x*f.z/f.n, f.yz-f.y*f.z/f.n
	det := xx*yy - xy*xy
	// One side of an arch alone is about a tenth as wide as long.
	if !(det > 1e-3*(xx+yy)*(xx+yy)) {
		return 0, 0, false
	}
	return (xz*yy - yz*xy) / det, (yz*xx - xz*xy) / det, true
}

// PlaneNormal is the normal, on the side of n, of the plane that fits the
// points best along n. Where the points do not hold a plane, it is n.
func PlaneNormal(pts []r3.Vec, n r3.Vec) r3.Vec {
	if len(pts) < 3 {
		return n
	}
	u := Perpendicular(n)
	v := r3.Cross(n, u)
	var fit PlaneFit
	for _, p := range pts {
		d := r3.Sub(p, pts[0])
		fit.Add(r3.Dot(d, u), r3.Dot(d, v), r3.Dot(d, n))
	}
	a, b, _ := fit.Slopes()
	return r3.Unit(r3.Sub(n, r3.Add(r3.Scale(a, u), r3.Scale(b, v))))
}

// Perpendicular is some unit vector perpendicular to n.
func Perpendicular(n r3.Vec) r3.Vec {
	e := r3.Vec{X: 1}
	if math.Abs(n.X) > 0.7 {
		e = r3.Vec{Y: 1}
	}
	return r3.Unit(r3.Cross(n, e))
}
