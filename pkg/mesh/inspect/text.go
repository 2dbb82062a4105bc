package inspect

import (
	"bufio"
	"fmt"
	"io"
)

// textListed bounds the lists in the text form.
const textListed = 5

// WriteText writes the report for a person to read, one fact a line.
func (r Report) WriteText(w io.Writer) error {
	buf := bufio.NewWriter(w)
	row := func(name, format string, args ...any) {
		fmt.Fprintf(buf, "%-22s %s\n", name, fmt.Sprintf(format, args...))
	}
	row("triangles", "%d", r.Triangles)
	row("vertices", "%d%s%s", r.Vertices, some(r.CoincidentVertices, ", %d of them at the place of another: not welded"),
		some(r.UnusedVertices, ", %d of them in no triangle"))
	row("components", "%d", r.Components)
	if r.Components > 1 {
		for _, c := range r.LargestComponents[:min(len(r.LargestComponents), textListed)] {
			row("", "%d triangles, %.4g mm²", c.Triangles, c.AreaMM2)
		}
		more(buf, r.Components)
	}
	row("borders", "%d, together %.4g mm", r.BoundaryLoops, r.BoundaryLengthMM)
	for _, l := range r.LongestLoops[:min(len(r.LongestLoops), textListed)] {
		row("", "%.4g mm, %d edges, around (%.1f, %.1f, %.1f)", l.LengthMM, l.Edges, l.CentreMM[0], l.CentreMM[1], l.CentreMM[2])
	}
	more(buf, r.BoundaryLoops)
	row("non-manifold edges", "%d", r.NonManifoldEdges)
	row("inconsistent edges", "%d", r.InconsistentEdges)
	row("flipped triangles", "%d", r.FlippedTriangles)
	row("duplicate triangles", "%d", r.DuplicateTriangles)
	row("degenerate triangles", "%d", r.DegenerateTriangles)
	row("size", "%.2f × %.2f × %.2f mm", r.SizeMM[0], r.SizeMM[1], r.SizeMM[2])
	row("area", "%.1f mm²", r.AreaMM2)
	row("edge lengths", "%.3g to %.3g mm, median %.3g mm", r.Edges.MinMM, r.Edges.MaxMM, r.Edges.MedianMM)
	row("can serve as", "%s", r.Arch.ServesAs.words())
	row("normals point", "%s", r.Arch.Normals)
	for _, s := range r.Arch.Reasons {
		row("", "%s", s)
	}
	return buf.Flush()
}

// WriteSigns writes signs for a person to read, one a line.
func WriteSigns(w io.Writer, signs []Sign) error {
	buf := bufio.NewWriter(w)
	name := "worth a look"
	for _, s := range signs {
		fmt.Fprintf(buf, "%-22s %s\n", name, s.words())
		name = ""
	}
	return buf.Flush()
}

func (s Sign) words() string {
	switch s.Kind {
	case SignSoup:
		return fmt.Sprintf("soup: %d triangles hang together with no other; the corners of one place are not equal", s.Count)
	case SignTJunctions:
		return fmt.Sprintf("T-junctions: %d corners lie on the edge of a triangle that does not end there; the surface is slit there", s.Count)
	case SignNonManifold:
		return fmt.Sprintf("non-manifold: more than two triangles meet at %d edges", s.Count)
	case SignSelfCrossing:
		return fmt.Sprintf("self-intersecting: %d pairs of triangles pass through each other", s.Count)
	case SignTwoSided:
		return fmt.Sprintf("two-sided: %d triangles are there twice; which side is outside is not known", s.Count)
	case SignNeedles:
		return fmt.Sprintf("needles: %d triangles are more than %d times as long as high", s.Count, needleShape)
	case SignIslands:
		return fmt.Sprintf("islands: %d small parts hang together with nothing", s.Count)
	case SignBase:
		return fmt.Sprintf("base: %.0f %% of the area lies in one plane, as a model's base does", 100*s.Share)
	case SignNoise:
		return fmt.Sprintf("noise: corners lie %.0f µm (standard deviation) off the surface around them", 1000*s.SizeMM)
	case SignCoarse:
		return fmt.Sprintf("coarse: %.0f %% of the area is in triangles with a side over %g mm; contacts are blurred", 100*s.Share, coarseMM)
	}
	return string(s.Kind)
}

// some is the text with the number in it, or nothing where it is zero.
func some(n int, format string) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(format, n)
}

// more says how many items a list of n left out.
func more(w io.Writer, n int) {
	if n > textListed {
		fmt.Fprintf(w, "%-22s and %d more\n", "", n-textListed)
	}
}

func (s Service) words() string {
	switch s {
	case ServesUpper:
		return "upper arch"
	case ServesLower:
		return "lower arch"
	case ServesEither:
		return "upper or lower arch, cannot tell which"
	}
	return "neither arch"
}
