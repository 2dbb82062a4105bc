// Package facet finds wear facets: flat patches with a sharp rim on a crown.
package facet

import (
	"cmp"
	"context"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// Facet is a wear facet: a nearly flat patch of a tooth's biting surface from
// which the surface bends away along a sharp rim.
type Facet struct {
	Tooth dentition.ToothID
	// Centre is the area-weighted middle, on the fitted plane, mm, in the scan
	// frame.
	Centre r3.Vec
	// Normal is the unit normal of the fitted plane, out of the tooth.
	Normal r3.Vec
	// Area is that of its triangles, mm².
	Area float64
	// RMS is the root mean square distance from the plane, mm.
	RMS float64
	// Rim is the mean angle of the surface to the plane in the first 0.3 mm
	// beyond the rim, positive where it falls away.
	Rim s1.Angle
	// RimShare is the part of the rim, 0 to 1, along which the surface bends by
	// more than 8° within 0.3 mm, away or, in a fossa, towards the facet.
	RimShare float64
	// Sharpness says how surely the patch is a facet, from [FacetAlone] up: how much
	// more its rim bends than its inside, see [Find].
	Sharpness float64
	// Vertices are those of the patch, in rising order.
	Vertices []mesh.VertexID
}

// What makes a facet. Flatness and size follow the clinical look, nearly flat
// and sharp-edged, root mean square to 20 µm and 0.2 to 10 mm² (common practice
// and handbooks); the rest is our choice, set on synthetic arches with facets of
// known place, of 100 000 to 300 000 triangles, with and without 20 µm of scan
// noise.
const (
	facetRMS       = 0.020 // mm
	facetAreaLeast = 0.2   // mm²
	facetAreaMost  = 10
	facetVertices  = 8    // fewer do not show whether a patch is flat
	facetFacing    = 0.2  // cosine between a facet's normal and the tooth's axis
	facetTilt      = 15.0 // ° by which normals of its triangles may differ from its own
	facetBend      = 8.0  // ° by which the rim bends where it counts in RimShare
)

// What sharpness is made of, in degrees, see [Find]: a bend that is sharp, what a
// mm of width counts for and a degree of turn, tilt or slope inside against it; how
// many times the unevenness inside is sharp, which is never less than so much; and
// the slope of a mm of RMS over a mm of width.
const (
	facetStrong   = 30
	facetPerWidth = 15
	facetPerTurn  = 2
	facetPerSlope = 0.5
	facetTimes    = 6
	facetUneven   = 1
	facetSlope    = 3 * 180 / math.Pi
)

// A patch as sharp as FacetAlone is a facet by itself. One as sharp as FacetPaired
// is one where an opposing patch lies on it as facets do that have ground each
// other, and both together are as sharp as FacetTogether; unworn slopes may be as
// sharp as FacetPaired, but do not pair.
const (
	FacetAlone    = 1
	FacetPaired   = 0.7
	FacetTogether = 1.7
)

// facetBands are the distances from its plane, in mm, to which a patch is grown:
// little where the scan is smooth and the rim shallow, more where it is rough.
var facetBands = [...]float64{0.012, 0.025, 0.045}

// Options are what a caller of [Find] may choose.
type Options struct {
	// Least is the sharpness from which a patch is a facet: [FacetAlone], or [FacetPaired]
	// where both teeth that made it are searched.
	Least float64
	// Workers is the number of goroutines, 0 for one a processor. The result does not
	// depend on it.
	Workers int
}

// Find looks for the patches of every labelled tooth that [anatomy.Frames] gives a frame
// that are as sharp as least, by teeth, then by falling sharpness: the wear facets
// with [FacetAlone], what may be some with less. Errors are those of Frames, and
// ctx.Err(), looked at after each tooth. The result does not depend on workers,
// the number of goroutines (0: one a processor).
//
// Patches are grown over the biting surface around the flattest spots: triangles
// near a fitted plane, with normals near its own. A grown patch of a smooth
// surface ends where the surface has curved away from the plane; it is domed, and
// its rim bends little more than its inside. A facet ends at an edge; on a cusp
// the surface falls away from it, in a fossa it runs into the opposite slope.
// There are two ways to be sharp, and the better one counts. Either the rim bends
// strongly and the patch is wide, where the flat strips between grooves and ridges
// are narrow:
//
//	(bend + 15°/mm · width − 2 · (turn + tilt) − slope/2) / 30°
//
// or, however shallow, it bends many times more than the inside is uneven, which
// smooth scans show:
//
//	bend / (turn + tilt + slope + 1°) / 6
//
// The bend is the root mean square, along the rim, of the turn of the mean normal
// from the 0.3 mm within to the 0.3 mm beyond. The width is the radius of the
// widest circle in the patch. The turn is that of a quadric fitted to the patch,
// over the width, across its strongest curvature; the tilt is the mean one against
// the plane, as its size, from 0.3 to 0.6 mm within the rim; the slope is that of
// three times the RMS over the width. All are taken over widths in mm, so that
// finer meshes give the same. Where patches overlap the sharpest stays, and others
// that share a fifth of their triangles with it fall. An edge can be told from a
// rounding only if the mesh is fine enough: facets of 0.4 mm² need edges of about
// 0.3 mm.
func Find(ctx context.Context, m *mesh.Mesh, l *dentition.Labels, o Options) ([]Facet, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	nets, err := anatomy.Reliefs(m, l)
	if err != nil {
		return nil, err
	}
	found := make([][]Facet, len(nets))
	err = par.Chunks(ctx, len(nets), 1, o.Workers, func(_, i, _ int) error {
		found[i] = newSkin(&nets[i]).facets(o.Least)
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
	tris, verts []int32
	rms         float64
	area        float64
	width       float64 // radius of the widest circle within, mm
	turn        float64 // ° by which the surface inside turns over the width
	rim         rim
	sharp       float64
}

// facets finds the facets of one tooth.
func (s *skin) facets(least float64) []Facet {
	var out []Facet
	for _, p := range s.patches(least) {
		out = append(out, s.facet(&p))
	}
	return out
}

// patches are the nearly flat patches of at least some sharpness, sharpest first.
// No two share more than a fifth of their triangles.
func (s *skin) patches(least float64) []flat {
	var patches []flat
	seen := map[[3]int64]bool{}
	seeds := s.seeds()
	covered := make([]bool, len(s.Points))
	for _, band := range facetBands {
		clear(covered)
		for _, v := range seeds {
			if covered[v] {
				continue
			}
			p := s.grow(v, band)
			s.cover(&p, band, covered)
			if key := p.key(); !seen[key] {
				seen[key] = true
				if s.judge(&p, least) {
					patches = append(patches, p)
				}
			}
		}
	}
	slices.SortStableFunc(patches, func(a, b flat) int { return cmp.Compare(b.sharp, a.sharp) })
	used := make([]bool, len(s.Triangles))
	out := patches[:0]
	for _, p := range patches {
		shared := 0
		for _, t := range p.tris {
			if used[t] {
				shared++
			}
		}
		if 5*shared > len(p.tris) {
			continue
		}
		for _, t := range p.tris {
			used[t] = true
		}
		out = append(out, p)
	}
	return out
}

// facet is a patch in the scan frame.
func (s *skin) facet(p *flat) Facet {
	f := Facet{Tooth: s.Frame.Tooth, Centre: s.Frame.World(p.plane.at.X, p.plane.at.Y, p.plane.at.Z),
		Normal: s.Frame.Direction(p.n.X, p.n.Y, p.n.Z),
		Area:   p.area, RMS: p.rms, Rim: s1.Angle(p.rim.outside) * s1.Degree, RimShare: p.rim.share, Sharpness: p.sharp}
	for _, v := range p.verts {
		f.Vertices = append(f.Vertices, s.IDs[v])
	}
	slices.Sort(f.Vertices)
	return f
}

// key tells patches of the same triangles, whatever their order.
func (p *flat) key() (k [3]int64) {
	k[0] = int64(len(p.tris))
	for _, t := range p.tris {
		k[1] += int64(t)
		k[2] += int64(t) * int64(t)
	}
	return k
}

// judge measures a patch and says whether it may be a facet: flat, of its size,
// and of at least some sharpness.
func (s *skin) judge(p *flat, least float64) bool {
	if len(p.verts) < facetVertices || p.n.Z < facetFacing {
		return false
	}
	if p.rms = s.rms(p); p.rms > facetRMS {
		return false
	}
	s.bounds(p)
	if p.area < facetAreaLeast || p.area > facetAreaMost {
		return false
	}
	dome, ok := s.dome(p)
	if !ok {
		return false
	}
	if p.width = s.survey(p); p.width == 0 {
		return false // no rim: all there is of the surface
	}
	p.turn = math.Atan(dome*p.width) * 180 / math.Pi
	if facetSharpness(tiltMost, p.turn, p.width, p.rms) < least {
		return false
	}
	s.measureRim(p)
	p.sharp = facetSharpness(p.rim.bend, p.turn+math.Abs(p.rim.inside), p.width, p.rms)
	return p.sharp >= least
}

// facetSharpness weighs what is known of a patch, see [Find]: the bend of its rim and
// the turn and tilt inside in degrees, width and RMS in mm.
func facetSharpness(bend, turn, width, rms float64) float64 {
	slope := facetSlope * rms / width
	strong := (bend + facetPerWidth*width - facetPerTurn*turn - facetPerSlope*slope) / facetStrong
	even := bend / (turn + slope + facetUneven) / facetTimes
	return max(strong, even)
}
