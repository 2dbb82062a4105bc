package meshfile

import (
	"fmt"
	"io"
	"math"
	"os"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// Colours are those of a PLY file's vertices or faces. One of both lists is nil, or both where
// the file has no colours; faces are preferred where both have some.
type Colours struct {
	Vertices  []RGB // of each vertex as [Read] gives them
	Triangles []RGB // of each triangle, those of a polygon being cut alike
}

// ReadColours reads the colours of a PLY file: properties red, green and blue of 8 bits, or as
// numbers from 0 to 1. Other formats have no colours that mean teeth: they are an error wrapping
// [ErrFormat], a PLY file without colours one wrapping [ErrColours].
func ReadColours(path string) (*Colours, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxFileBytes+1))
	if err != nil {
		return nil, err
	}
	if int64(len(data)) > maxFileBytes {
		return nil, &ParseError{File: path, Offset: -1, Err: tooLarge(int64(len(data)))}
	}
	c, err := readPLYColours(data)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return c, nil
}

func readPLYColours(data []byte) (*Colours, error) {
	if len(data) < 3 || string(data[:3]) != "ply" {
		return nil, fmt.Errorf("%w: colours are read from PLY files", ErrFormat)
	}
	h, err := readPLYHeader(data)
	if err != nil {
		return nil, err
	}
	var src plySource = &plyText{h.body}
	if h.encoding != nil {
		src = &plyBinary{data: data, pos: len(data) - len(h.body.rest), order: h.encoding}
	}
	c := &Colours{}
	for _, e := range h.elements {
		if err := src.fits(e); err != nil {
			return nil, err
		}
		colours, corners, err := readPLYRecords(src, e)
		if err != nil {
			return nil, err
		}
		switch {
		case colours == nil:
		case e.name == "vertex":
			c.Vertices = colours
		case e.name == "face":
			for i, x := range colours {
				for range max(0, corners[i]-2) {
					c.Triangles = append(c.Triangles, x)
				}
			}
		}
	}
	switch {
	case c.Triangles != nil:
		c.Vertices = nil
	case c.Vertices == nil:
		return nil, fmt.Errorf("%w: neither vertices nor faces have the properties red, green and blue", ErrColours)
	}
	return c, nil
}

// readPLYRecords reads the colours of an element's records, nil where it has none, and how many
// corners the faces have.
func readPLYRecords(src plySource, e plyElement) (colours []RGB, corners []int, err error) {
	var place [3]int
	has := true
	for k, name := range [3]string{"red", "green", "blue"} {
		place[k] = e.find(name)
		has = has && place[k] >= 0 && !e.props[place[k]].list
	}
	if !has {
		return nil, nil, skipPLYElement(src, e)
	}
	list := max(e.find("vertex_indices"), e.find("vertex_index"))
	for range e.count {
		if err := src.begin(); err != nil {
			return nil, nil, err
		}
		var x RGB
		n := 0
		for i, p := range e.props {
			k := slices.Index(place[:], i)
			switch {
			case k >= 0:
				if x[k], err = readPLYShade(src, p.value); err != nil {
					return nil, nil, err
				}
				continue
			case i == list && p.list:
				if n, err = listLength(src, p); err == nil {
					err = src.skip(p.value, n)
				}
			default:
				err = skipPLYProperty(src, p)
			}
			if err != nil {
				return nil, nil, err
			}
		}
		colours, corners = append(colours, x), append(corners, n)
		if err := src.done(); err != nil {
			return nil, nil, err
		}
	}
	return colours, corners, nil
}

// readPLYShade reads one channel of a colour.
func readPLYShade(src plySource, t plyType) (uint8, error) {
	v, err := src.number(t)
	if err != nil {
		return 0, err
	}
	if t == plyFloat32 || t == plyFloat64 {
		v = math.Round(255 * v)
	}
	if !(v >= 0 && v <= 255) {
		return 0, src.fault(wrap(ErrSyntax, "found %g as a colour's channel, expected 0 to 255", v))
	}
	return uint8(v), nil
}

// ByVertex gives for each vertex of a mesh the colour of most of the triangles around it, the
// first of those that are as many, from the colours of triangles.
func (c *Colours) ByVertex(m *mesh.Mesh) ([]RGB, error) {
	switch {
	case c.Triangles == nil && len(c.Vertices) == m.NumVertices():
		return c.Vertices, nil
	case c.Triangles == nil || len(c.Triangles) != m.NumTriangles():
		return nil, fmt.Errorf("%w: they are not as many as the vertices or triangles", ErrColours)
	}
	type count struct {
		colour RGB
		n      int
	}
	around := make([][]count, m.NumVertices())
	for t, tri := range m.All() {
		for _, v := range tri {
			i := slices.IndexFunc(around[v], func(k count) bool { return k.colour == c.Triangles[t] })
			if i < 0 {
				i = len(around[v])
				around[v] = append(around[v], count{colour: c.Triangles[t]})
			}
			around[v][i].n++
		}
	}
	out := make([]RGB, len(around))
	for v, list := range around {
		most := 0
		for _, k := range list {
			if k.n > most {
				out[v], most = k.colour, k.n
			}
		}
	}
	return out, nil
}
