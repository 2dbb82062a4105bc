package meshfile

import (
	"bytes"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"strconv"
)

// readOBJ reads the polygonal part of an OBJ file: v and f. Colours or a weight
// after the coordinates of v, the texture and normal numbers of f, and every
// other statement are skipped. Corner numbers count from 1, negative ones
// backwards from the last vertex so far. A backslash at the end of a line
// joins the next one to it.
func readOBJ(data []byte, b *builder) error {
	t := newText(data)
	var corners []mesh.VertexID
	// A face may come before its vertices. The largest such number, and where
	// it stands, decide when all vertices are known.
	var highest, highestLine int
	for t.next() {
		line := t.line
		if err := t.joinContinued(); err != nil {
			return err
		}
		switch string(t.field()) {
		case "v":
			var p [3]float64
			for k := range p {
				var err error
				if p[k], err = t.number(t.field()); err != nil {
					return err
				}
			}
			if err := b.vertex(p[0], p[1], p[2]); err != nil {
				return &ParseError{Line: line, Offset: -1, Err: err}
			}
		case "f":
			corners = corners[:0]
			for w := t.field(); w != nil && w[0] != '#'; w = t.field() {
				number, _, _ := bytes.Cut(w, []byte("/"))
				n, err := vertexNumber(number)
				switch {
				case err != nil:
					return atLine(line, ErrSyntax, "found %s, expected a vertex number such as 7, 7/1, 7//3, 7/1/3 or -1", quote(w))
				case n == 0 || -n > int64(len(b.verts)):
					return atLine(line, mesh.ErrIndexRange, "found %d, expected 1 to %d or -%d to -1", n, len(b.verts), len(b.verts))
				case n < 0:
					n += int64(len(b.verts)) + 1
				case int(n) > highest:
					highest, highestLine = int(n), line
				}
				if corners, err = corner(corners, mesh.VertexID(n-1)); err != nil {
					return &ParseError{Line: line, Offset: -1, Err: err}
				}
			}
			if err := b.fan(corners); err != nil {
				return &ParseError{Line: line, Offset: -1, Err: err}
			}
		}
	}
	if highest > len(b.verts) {
		return atLine(highestLine, mesh.ErrIndexRange, "found %d, but there are %d vertices", highest, len(b.verts))
	}
	return nil
}

// vertexNumber reads a whole number; plain digits, as nearly all are, without a string.
func vertexNumber(w []byte) (int64, error) {
	if len(w) == 0 || len(w) > 9 {
		return strconv.ParseInt(string(w), 10, 32)
	}
	n := int64(0)
	for _, c := range w {
		if c < '0' || c > '9' {
			return strconv.ParseInt(string(w), 10, 32)
		}
		n = 10*n + int64(c-'0')
	}
	return n, nil
}

// joinContinued appends to the current line those that a backslash at its end
// ties to it.
func (t *text) joinContinued() error {
	joined := false
	for {
		s := bytes.TrimRight(t.cur, "\r")
		if len(s) == 0 || s[len(s)-1] != '\\' {
			return nil
		}
		if len(s) > maxLineBytes {
			return atLine(t.line, ErrSyntax, "lines joined to one of more than %d bytes", maxLineBytes)
		}
		s = s[:len(s)-1]
		if !joined { // do not write into the file's bytes
			s = append(make([]byte, 0, 2*len(s)+1), s...)
			joined = true
		}
		s = append(s, ' ')
		if !t.next() {
			t.cur = s
			return nil
		}
		t.cur = append(s, t.cur...)
	}
}
