package meshfile

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// readPLY reads the x, y and z of the "vertex" elements and the corner lists of
// the "face" elements; all other properties and elements are skipped, whatever
// their types.
func readPLY(data []byte, b *builder) error {
	h, err := readPLYHeader(data)
	if err != nil {
		return err
	}
	var src plySource
	if h.encoding == nil {
		src = &plyText{h.body}
	} else {
		src = &plyBinary{data: data, pos: len(data) - len(h.body.rest), order: h.encoding}
	}
	vertices := 0
	for _, e := range h.elements {
		if e.name == "vertex" {
			vertices = e.count
		}
	}
	for _, e := range h.elements {
		if err := src.fits(e); err != nil {
			return err
		}
		switch e.name {
		case "vertex":
			err = readPLYVertices(src, e, b)
		case "face":
			err = readPLYFaces(src, e, vertices, b)
		default:
			err = skipPLYElement(src, e)
		}
		if err != nil {
			return err
		}
	}
	return src.end()
}

func readPLYVertices(src plySource, e plyElement, b *builder) error {
	var place [3]int // which property is x, y, z
	for k, name := range [3]string{"x", "y", "z"} {
		if place[k] = e.find(name); place[k] < 0 || e.props[place[k]].list {
			return atLine(e.line, ErrSyntax, "the vertex element has no property %q, expected three numbers x, y and z", name)
		}
	}
	axis := make([]int, len(e.props)) // the other way round; -1 for neither
	for i := range axis {
		axis[i] = slices.Index(place[:], i)
	}
	b.verts = make([]r3.Vec, 0, e.count) // fits() has held the count against the length
	for range e.count {
		if err := src.begin(); err != nil {
			return err
		}
		var p [3]float64
		for i, prop := range e.props {
			k := axis[i]
			if k < 0 {
				if err := skipPLYProperty(src, prop); err != nil {
					return err
				}
				continue
			}
			var err error
			if p[k], err = src.number(prop.value); err != nil {
				return err
			}
		}
		if err := b.vertex(p[0], p[1], p[2]); err != nil {
			return src.fault(err)
		}
		if err := src.done(); err != nil {
			return err
		}
	}
	return nil
}

func readPLYFaces(src plySource, e plyElement, vertices int, b *builder) error {
	at := e.find("vertex_indices")
	if at < 0 {
		at = e.find("vertex_index")
	}
	if at < 0 || !e.props[at].list {
		return atLine(e.line, ErrSyntax, `the face element has no list "vertex_indices" or "vertex_index"`)
	}
	b.tris = slices.Grow(b.tris, min(e.count, b.most))
	var corners []mesh.VertexID
	for range e.count {
		if err := src.begin(); err != nil {
			return err
		}
		for i, prop := range e.props {
			if i != at {
				if err := skipPLYProperty(src, prop); err != nil {
					return err
				}
				continue
			}
			n, err := listLength(src, prop)
			if err != nil {
				return err
			}
			if n > maxCorners {
				return src.fault(tooManyCorners())
			}
			corners = corners[:0]
			for range n {
				c, err := src.number(prop.value)
				if err != nil {
					return err
				}
				if !(c >= 0 && c < float64(vertices)) || c != math.Trunc(c) {
					return src.fault(wrap(mesh.ErrIndexRange, "found %g, expected a whole number from 0 to %d", c, vertices-1))
				}
				corners = append(corners, mesh.VertexID(c))
			}
			if err := b.fan(corners); err != nil {
				return src.fault(err)
			}
		}
		if err := src.done(); err != nil {
			return err
		}
	}
	return nil
}

func skipPLYElement(src plySource, e plyElement) error {
	if len(e.props) == 0 {
		return nil // nothing is stored for it, however large its count
	}
	for range e.count {
		if err := src.begin(); err != nil {
			return err
		}
		for _, p := range e.props {
			if err := skipPLYProperty(src, p); err != nil {
				return err
			}
		}
		if err := src.done(); err != nil {
			return err
		}
	}
	return nil
}

func skipPLYProperty(src plySource, p plyProperty) error {
	n := 1
	if p.list {
		var err error
		if n, err = listLength(src, p); err != nil {
			return err
		}
	}
	return src.skip(p.value, n)
}

// listLength reads the length of a list and holds it against what the file
// still has, before anything is made of that size.
func listLength(src plySource, p plyProperty) (int, error) {
	c, err := src.number(p.count)
	if err != nil {
		return 0, err
	}
	if !(c >= 0) || c != math.Trunc(c) {
		return 0, src.fault(wrap(ErrSyntax, "found %g as the length of list %q, expected a whole number from 0", c, p.name))
	}
	if most := src.most(p.value); c > float64(most) {
		return 0, src.fault(wrap(ErrCount, "list %q is to have %g values, but at most %d are left", p.name, c, most))
	}
	return int(c), nil
}
