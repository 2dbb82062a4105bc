package meshfile

import (
	"bytes"
	"encoding/binary"
	"math"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// STL is read here and not by github.com/hschendel/stl, which [WriteSTL] uses.
// That reader takes a binary file of wrong length for a text, wants exactly
// "solid " at the start of a text (no byte order mark, no bare "solid"), drops
// every solid but the first in silence, lets NaN pass, says no place, and takes
// eleven times as long for a text, since it matches each word with a regular
// expression. Binary facets it reads as fast, but into a form of its own.

const (
	stlHeader = 84 // 80 bytes of anything, then the number of facets
	stlFacet  = 50 // normal, three corners, two bytes of attributes
)

// isBinarySTL holds the length against the count: the only sure sign, since
// binary headers may begin with "solid" too.
func isBinarySTL(data []byte) bool {
	return len(data) >= stlHeader && int64(len(data)) == stlHeader+stlFacet*int64(stlCount(data))
}

func stlCount(data []byte) uint32 { return binary.LittleEndian.Uint32(data[stlHeader-4:]) }

func readSTL(data []byte, b *builder) error {
	if isBinarySTL(data) {
		return readBinarySTL(data, b)
	}
	// A text has no zero byte; one that says "solid" and then has some is a
	// binary file of the wrong length.
	if t := newText(data); hasPrefixFold(bytes.TrimLeft(t.rest, " \t\r\n"), "solid") && bytes.IndexByte(data, 0) < 0 {
		return readTextSTL(t, b)
	}
	if len(data) < stlHeader {
		return atByte(int64(len(data)), ErrTruncated, `found %d bytes, expected "solid" or the %d bytes of a binary header`, len(data), stlHeader)
	}
	n := int64(stlCount(data))
	return atByte(stlHeader-4, ErrCount, "the STL header says %d triangles, which take %d bytes, but the file has %d, enough for %d triangles",
		n, stlHeader+stlFacet*n, len(data), (len(data)-stlHeader)/stlFacet)
}

// readBinarySTL reads a file whose length fits its count. The facet normals are
// skipped: they follow from the corners, and many files hold zeros.
func readBinarySTL(data []byte, b *builder) error {
	n := int(stlCount(data))
	if n > maxTriangles {
		return &ParseError{Offset: stlHeader - 4, Err: tooMany()}
	}
	b.verts = make([]r3.Vec, 3*n)
	b.tris = make([][3]mesh.VertexID, n)
	for i := range n {
		facet := data[stlHeader+stlFacet*i:][:stlFacet]
		for c := range 3 {
			p := r3.Vec{
				X: float64(math.Float32frombits(binary.LittleEndian.Uint32(facet[12+12*c:]))) * b.scale,
				Y: float64(math.Float32frombits(binary.LittleEndian.Uint32(facet[16+12*c:]))) * b.scale,
				Z: float64(math.Float32frombits(binary.LittleEndian.Uint32(facet[20+12*c:]))) * b.scale,
			}
			if b.placing && mesh.CheckPoint(p) != nil {
				return &ParseError{Offset: int64(stlHeader + stlFacet*i + 12 + 12*c),
					Err: &mesh.TriangleError{Tri: mesh.TriID(i), Err: mesh.CheckPoint(p)}}
			}
			b.verts[3*i+c] = p
		}
		v := mesh.VertexID(3 * i)
		b.tris[i] = [3]mesh.VertexID{v, v + 1, v + 2}
	}
	return nil
}

// readTextSTL reads one or more solids. Key words may be in any case; the
// facet normal is skipped unread, since files hold "nan" there for facets
// without area.
func readTextSTL(t *text, b *builder) error {
	expect := func(want string) error {
		switch w := t.word(); {
		case w == nil:
			return atLine(t.line, ErrTruncated, "expected %q", want)
		case !strings.EqualFold(string(w), want):
			return atLine(t.line, ErrSyntax, "found %s, expected %q", quote(w), want)
		}
		return nil
	}
	for {
		w := t.word()
		if w == nil {
			return nil
		}
		if !hasPrefixFold(w, "solid") { // "solid" and the name may be written as one
			return atLine(t.line, ErrSyntax, `found %s, expected "solid"`, quote(w))
		}
		t.cur = nil // the rest of the line is the name
		for {
			w := t.word()
			if w == nil {
				return atLine(t.line, ErrTruncated, `expected "facet" or "endsolid"`)
			}
			if hasPrefixFold(w, "endsolid") {
				t.cur = nil
				break
			}
			if !strings.EqualFold(string(w), "facet") {
				return atLine(t.line, ErrSyntax, `found %s, expected "facet" or "endsolid"`, quote(w))
			}
			if err := expect("normal"); err != nil {
				return err
			}
			t.field()
			t.field()
			t.field()
			if err := expect("outer"); err != nil {
				return err
			}
			if err := expect("loop"); err != nil {
				return err
			}
			if len(b.tris) == maxTriangles {
				return &ParseError{Line: t.line, Offset: -1, Err: tooMany()}
			}
			first := mesh.VertexID(len(b.verts))
			for range 3 {
				if err := expect("vertex"); err != nil {
					return err
				}
				var p [3]float64
				for k := range p {
					var err error
					if p[k], err = t.number(t.field()); err != nil {
						return err
					}
				}
				if err := b.vertex(p[0], p[1], p[2]); err != nil {
					return &ParseError{Line: t.line, Offset: -1, Err: err}
				}
			}
			b.tris = append(b.tris, [3]mesh.VertexID{first, first + 1, first + 2})
			if err := expect("endloop"); err != nil {
				return err
			}
			if err := expect("endfacet"); err != nil {
				return err
			}
		}
	}
}
