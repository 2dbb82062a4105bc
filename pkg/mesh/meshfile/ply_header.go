package meshfile

import (
	"encoding/binary"
	"strconv"
)

// plyType is a scalar type of PLY; the zero value is none.
type plyType uint8

const (
	plyNone plyType = iota
	plyInt8
	plyUint8
	plyInt16
	plyUint16
	plyInt32
	plyUint32
	plyFloat32
	plyFloat64
)

// size is the number of bytes in a binary file.
func (t plyType) size() int {
	return [...]int{plyInt8: 1, plyUint8: 1, plyInt16: 2, plyUint16: 2, plyInt32: 4, plyUint32: 4, plyFloat32: 4, plyFloat64: 8}[t]
}

// plyTypeOf knows both sets of names in use.
func plyTypeOf(name []byte) plyType {
	switch string(name) {
	case "char", "int8":
		return plyInt8
	case "uchar", "uint8":
		return plyUint8
	case "short", "int16":
		return plyInt16
	case "ushort", "uint16":
		return plyUint16
	case "int", "int32":
		return plyInt32
	case "uint", "uint32":
		return plyUint32
	case "float", "float32":
		return plyFloat32
	case "double", "float64":
		return plyFloat64
	}
	return plyNone
}

type plyProperty struct {
	name  string
	list  bool
	count plyType // of the length of a list
	value plyType
}

type plyElement struct {
	name  string
	line  int // where the header names it
	count int
	props []plyProperty
}

// find is the place of the first property of that name, or -1.
func (e plyElement) find(name string) int {
	for i, p := range e.props {
		if p.name == name {
			return i
		}
	}
	return -1
}

// leastBytes is the size of one record with empty lists in a binary file.
func (e plyElement) leastBytes() int {
	n := 0
	for _, p := range e.props {
		if p.list {
			n += p.count.size()
		} else {
			n += p.value.size()
		}
	}
	return n
}

// maxParts is how many elements a header, and properties an element, may have.
const maxParts = 200

type plyHeader struct {
	encoding binary.ByteOrder // nil for text
	elements []plyElement
	body     *text // what follows the header
}

func readPLYHeader(data []byte) (plyHeader, error) {
	var h plyHeader
	t := newPLYText(data)
	if !t.next() || string(t.field()) != "ply" {
		return h, atLine(1, ErrSyntax, `a PLY file begins with the line "ply"`)
	}
	formatSeen := false
	for {
		if !t.next() {
			return h, atLine(t.line, ErrTruncated, `the header has no line "end_header"`)
		}
		switch w := t.field(); string(w) {
		case "", "comment", "obj_info":
		case "format":
			switch f := t.field(); string(f) {
			case "ascii":
			case "binary_little_endian":
				h.encoding = binary.LittleEndian
			case "binary_big_endian":
				h.encoding = binary.BigEndian
			default:
				return h, atLine(t.line, ErrSyntax, "found format %s, expected ascii, binary_little_endian or binary_big_endian", quote(f))
			}
			formatSeen = true
		case "element":
			name, number := string(t.field()), t.field()
			n, err := strconv.ParseUint(string(number), 10, 31)
			if err != nil {
				return h, atLine(t.line, ErrCount, "element %q: found count %s, expected a whole number below 2^31", name, quote(number))
			}
			for _, e := range h.elements {
				if e.name == name {
					return h, atLine(t.line, ErrSyntax, "element %q comes a second time", name)
				}
			}
			if len(h.elements) == maxParts {
				return h, atLine(t.line, ErrSyntax, "more than %d elements, no scan has as many", maxParts)
			}
			h.elements = append(h.elements, plyElement{name: name, line: t.line, count: int(n)})
		case "property":
			if len(h.elements) == 0 {
				return h, atLine(t.line, ErrSyntax, "a property before the first element")
			}
			p, err := readPLYProperty(t)
			if err != nil {
				return h, err
			}
			e := &h.elements[len(h.elements)-1]
			if len(e.props) == maxParts {
				return h, atLine(t.line, ErrSyntax, "more than %d properties of an element, no scan has as many", maxParts)
			}
			e.props = append(e.props, p)
		case "end_header":
			if !formatSeen {
				return h, atLine(t.line, ErrSyntax, `the header has no line "format"`)
			}
			h.body = t
			return h, nil
		default:
			return h, atLine(t.line, ErrSyntax, "found %s, expected format, comment, obj_info, element, property or end_header", quote(w))
		}
	}
}

// newPLYText takes the end of the first line for the end of all: later bytes of
// a binary file say nothing about lines.
func newPLYText(data []byte) *text {
	t := newText(data)
	t.eol = '\n'
	for i, c := range t.rest {
		if c == '\n' {
			break
		}
		if c == '\r' {
			if i+1 < len(t.rest) && t.rest[i+1] != '\n' {
				t.eol = '\r'
			}
			break
		}
	}
	return t
}

func readPLYProperty(t *text) (plyProperty, error) {
	const types = "char, uchar, short, ushort, int, uint, float or double"
	var p plyProperty
	w := t.field()
	if string(w) == "list" {
		p.list = true
		if w = t.field(); plyTypeOf(w) == plyNone {
			return p, atLine(t.line, ErrSyntax, "found %s as the type of a list's length, expected %s", quote(w), types)
		}
		p.count = plyTypeOf(w)
		w = t.field()
	}
	if p.value = plyTypeOf(w); p.value == plyNone {
		return p, atLine(t.line, ErrSyntax, "found %s, expected list, %s", quote(w), types)
	}
	p.name = string(t.field())
	if p.name == "" {
		return p, atLine(t.line, ErrSyntax, "a property without a name")
	}
	return p, nil
}
