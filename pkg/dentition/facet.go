package dentition

import (
	"cmp"
	"context"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// Facet is a wear facet: a nearly flat patch of a tooth's biting surface from
// which the surface bends away along a sharp rim.
type Facet struct {
	Tooth ToothID
	// Centre is the area-weighted middle, on the fitted plane, mm, in the scan
	// frame.
	Centre r3.Vec
	// Normal is the unit normal of the fitted plane, out of the tooth.
	Normal r3.Vec
	// Area is that of the surface within the rim's vertices, mm².
	Area float64
	// RMS is the root mean square distance from the plane, mm.
	RMS float64
	// Rim is the mean angle of the surface to the plane in the first 0.3 mm
	// beyond the rim, positive where it falls away.
	Rim s1.Angle
	// RimShare is the part of the rim, 0 to 1, along which the surface bends by
	// more than 8° within 0.3 mm, away or, in a fossa, towards the facet.
	RimShare float64
	// Sharpness is what the patch was accepted by: how much more its rim bends
	// than its inside (see [Facets]).
	Sharpness s1.Angle
	// Vertices are those of the patch, in rising order.
	Vertices []mesh.VertexID
}

// What makes a facet. Flatness and size follow the clinical look, nearly flat
// and sharp-edged, root mean square to 20 µm and 0.2 to 10 mm² (common practice
// and handbooks); the rest is our choice, set on synthetic arches with facets of
// known place and 20 µm of scan noise.
const (
	facetRMS       = 0.020 // mm
	facetAreaLeast = 0.2   // mm²
	facetAreaMost  = 10
	facetVertices  = 8    // fewer do not show whether a patch is flat
	facetFacing    = 0.2  // cosine between a facet's normal and the tooth's axis
	facetTilt      = 15.0 // ° by which normals of its vertices may differ from its own
	facetDome      = 0.35 // 1/mm, most curvature of its inside
	facetBend      = 8.0  // ° by which the rim bends where it is sharp
	facetRise      = 0.6  // what a bend upwards counts beside one that falls away
	facetSharp     = 8.5  // ° of sharpness needed
	facetProbe     = 12.0 // ° by which a quarter of a rim may fall short of that
	// What takes from the sharpness: degrees a mm of RMS, degrees a unit of
	// curvature (1/mm), and degrees a degree of tilt inside.
	facetPerRMS, facetPerDome, facetPerTilt = 750, 40, 3
)

// facetBands are the distances from its plane, in mm, to which a patch is grown:
// little where the scan is smooth and the rim shallow, more where it is rough.
var facetBands = [...]float64{0.012, 0.025, 0.045}

// Facets finds the wear facets of every labelled tooth that [Frames] gives a
// frame, by teeth, then by falling sharpness. Errors are those of Frames, and
// ctx.Err(), looked at after each tooth. The result does not depend on workers,
// the number of goroutines (0: one a processor).
//
// Patches are grown over the biting surface around the flattest spots: vertices
// near a fitted plane, with normals near its own. A grown patch of a smooth
// surface ends where the surface has curved away from the plane; it is domed, its
// vertices lie off the plane by much of what is allowed, and its rim bends little
// more than its inside. A facet ends at an edge; on a cusp the surface falls away
// from it, in a fossa it runs into the opposite slope. So each patch is weighed by
// how sharply the surface bends along its rim, less what it curves inside:
//
//	sharpness = bend across the rim · share of the rim that bends − 750°/mm · RMS
//	            − 40°·mm · curvature inside − 3 · tilt inside
//
// where the scan's own roughness is taken from the RMS, and a bend upwards counts
// 0.6 of one that falls away, since grooves bound unworn slopes too. A patch of at
// least 8.5° is a facet. Where patches overlap the sharpest stays, and others that
// share a fifth of their vertices with it fall. An edge can be told from a
// rounding only if the mesh is fine enough: facets of 0.4 mm² need edges of about
// 0.25 mm.
func Facets(ctx context.Context, m *mesh.Mesh, l *Labels, workers int) ([]Facet, error) {
	frames, err := Frames(m, l)
	if err != nil {
		return nil, err
	}
	nets := reliefs(m, l, frames)
	found := make([][]Facet, len(nets))
	err = par.Chunks(ctx, len(nets), 1, workers, func(_, i, _ int) error {
		found[i] = newSkin(&nets[i]).facets()
		return nil
	})
	if err != nil {
		return nil, err
	}
	return slices.Concat(found...), nil
}

// flat is a nearly flat part of a skin.
type flat struct {
	plane
	verts []int32
	size  int // number of vertices as grown
	rms   float64
	area  float64
	rim   rim
	sharp float64
}

// facets finds the facets of one tooth.
func (s *skin) facets() []Facet {
	var patches []flat
	seen := map[[3]int64]bool{}
	seeds := s.seeds()
	s.rough = s.roughness(seeds)
	for _, v := range seeds {
		for _, band := range facetBands {
			p := s.grow(v, band)
			if key := p.key(); !seen[key] {
				seen[key] = true
				p.size = len(p.verts)
				if s.judge(&p) {
					patches = append(patches, p)
				}
			}
		}
	}
	slices.SortStableFunc(patches, func(a, b flat) int { return cmp.Compare(b.sharp, a.sharp) })
	used := make([]bool, len(s.verts))
	var out []Facet
	for i := range patches {
		p := &patches[i]
		p.verts = slices.DeleteFunc(p.verts, func(v int32) bool { return used[v] })
		if len(p.verts) < facetVertices || 5*len(p.verts) < 4*p.size {
			continue
		}
		f := Facet{Tooth: s.frame.Tooth, Centre: s.frame.World(p.at.X, p.at.Y, p.at.Z), Normal: s.frame.direction(p.n.X, p.n.Y, p.n.Z),
			Area: p.area, RMS: p.rms, Rim: s1.Angle(p.rim.outside) * s1.Degree, RimShare: p.rim.share, Sharpness: s1.Angle(p.sharp) * s1.Degree}
		for _, v := range p.verts {
			used[v] = true
			f.Vertices = append(f.Vertices, s.ids[v])
		}
		slices.Sort(f.Vertices)
		out = append(out, f)
	}
	return out
}

// key tells patches of the same vertices, whatever their order.
func (p *flat) key() (k [3]int64) {
	k[0] = int64(len(p.verts))
	for _, v := range p.verts {
		k[1] += int64(v)
		k[2] += int64(v) * int64(v)
	}
	return k
}

// judge measures a patch and says whether it is a facet.
func (s *skin) judge(p *flat) bool {
	if len(p.verts) < facetVertices || p.n.Z < facetFacing || p.rms > facetRMS {
		return false
	}
	s.bounds(p)
	if p.area < facetAreaLeast || p.area > facetAreaMost {
		return false
	}
	dome, ok := s.dome(p)
	if !ok || dome > facetDome {
		return false
	}
	loss := facetPerRMS*math.Sqrt(max(0, p.rms*p.rms-s.rough*s.rough)) + facetPerDome*dome
	weigh := func() float64 {
		return p.rim.bend*p.rim.share - facetPerTilt*math.Abs(p.rim.inside) - loss
	}
	s.measureRim(p, func() bool { return weigh() >= facetSharp-facetProbe })
	p.sharp = weigh()
	return p.sharp >= facetSharp
}
