package meshfile

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/cusptrace/cusptrace/internal/atomicfile"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/hschendel/stl"
	"gonum.org/v1/gonum/spatial/r3"
)

// ErrColours says that there are not as many colours as vertices, or that the
// format has no place for them.
var ErrColours = errors.New("colours do not fit")

// RGB is a colour of 8 bits a channel in the sRGB space.
type RGB [3]uint8

// WriteFile writes a mesh in mm to an STL, PLY or OBJ file, as the extension
// says; another extension is an error wrapping [ErrFormat]. Colours, one a
// vertex, may be given for PLY; nil writes none. The file appears whole or not
// at all: an existing one is replaced only when all has been written.
func WriteFile(path string, m *mesh.Mesh, colours []RGB) (err error) {
	format := FormatOf(path)
	switch {
	case format == FormatUnknown:
		return wrap(ErrFormat, "cannot write %s: found the extension %q, expected .stl, .ply or .obj", path, filepath.Ext(path))
	case colours != nil && format != PLY:
		return wrap(ErrColours, "cannot write %s: %v files have no colours, PLY files do", path, format)
	}
	f, err := atomicfile.Create(path, 0o644)
	if err != nil {
		return err
	}
	defer func() {
		if e := f.Cleanup(); err == nil {
			err = e
		}
	}()
	switch format {
	case STL:
		err = WriteSTL(f, m)
	case PLY:
		err = WritePLY(f, m, colours)
	case OBJ:
		err = WriteOBJ(f, m)
	}
	if err != nil {
		return fmt.Errorf("cannot write %s: %w", path, err)
	}
	return f.Replace()
}

// stlTitle fills the start of the header; it must not begin with "solid", by
// which careless readers tell a text.
const stlTitle = "binary STL, lengths in mm"

// WriteSTL writes a binary STL file. Coordinates are rounded to float32, which
// moves points within 128 mm of the origin by less than 4 nm an axis; those that came from a binary STL file in mm
// read back exactly. The
// normal of a triangle without area is zero.
func WriteSTL(w io.Writer, m *mesh.Mesh) error {
	s := stl.Solid{BinaryHeader: []byte(stlTitle), Triangles: make([]stl.Triangle, m.NumTriangles())}
	for i := range s.Triangles {
		t := &s.Triangles[i]
		a, b, c := m.Corners(mesh.TriID(i))
		t.Vertices = [3]stl.Vec3{single(a), single(b), single(c)}
		n := m.AreaVector(mesh.TriID(i))
		if area := r3.Norm(n); area > 0x1p-1000 { // the reciprocal is finite
			t.Normal = single(r3.Scale(1/area, n))
		}
	}
	buf := bufio.NewWriter(w)
	if err := s.WriteAll(buf); err != nil {
		return err
	}
	return buf.Flush()
}

func single(v r3.Vec) stl.Vec3 {
	return stl.Vec3{float32(v.X), float32(v.Y), float32(v.Z)}
}

// WritePLY writes a little-endian binary PLY file, with a colour for each
// vertex where colours is not nil; another number of them is an error wrapping
// [ErrColours]. Coordinates are float where every one is a float32, else
// double, so they always read back exactly. Comments go into the header, one a line.
func WritePLY(w io.Writer, m *mesh.Mesh, colours []RGB, comments ...string) error {
	if colours != nil && len(colours) != m.NumVertices() {
		return wrap(ErrColours, "found %d for %d vertices, expected one a vertex", len(colours), m.NumVertices())
	}
	kind := "float"
	for _, v := range m.Vertices() {
		if s := single(v); float64(s[0]) != v.X || float64(s[1]) != v.Y || float64(s[2]) != v.Z {
			kind = "double"
			break
		}
	}
	buf := bufio.NewWriter(w)
	buf.WriteString("ply\nformat binary_little_endian 1.0\ncomment lengths in mm\n")
	for _, c := range comments {
		fmt.Fprintf(buf, "comment %s\n", strings.Join(strings.Fields(c), " "))
	}
	fmt.Fprintf(buf, "element vertex %d\n", m.NumVertices())
	for _, axis := range [...]string{"x", "y", "z"} {
		fmt.Fprintf(buf, "property %s %s\n", kind, axis)
	}
	if colours != nil {
		buf.WriteString("property uchar red\nproperty uchar green\nproperty uchar blue\n")
	}
	fmt.Fprintf(buf, "element face %d\nproperty list uchar int vertex_indices\nend_header\n", m.NumTriangles())
	le := binary.LittleEndian
	var rec []byte
	for i, v := range m.Vertices() {
		rec = rec[:0]
		for _, c := range [3]float64{v.X, v.Y, v.Z} {
			if kind == "float" {
				rec = le.AppendUint32(rec, math.Float32bits(float32(c)))
			} else {
				rec = le.AppendUint64(rec, math.Float64bits(c))
			}
		}
		if colours != nil {
			rec = append(rec, colours[i][:]...)
		}
		buf.Write(rec)
	}
	for _, t := range m.Triangles() {
		rec = append(rec[:0], 3)
		for _, c := range t {
			rec = le.AppendUint32(rec, uint32(c))
		}
		buf.Write(rec)
	}
	return buf.Flush() // the first error of any write before stays with buf
}

// WriteOBJ writes an OBJ file with the shortest decimals that read back exactly.
func WriteOBJ(w io.Writer, m *mesh.Mesh) error {
	buf := bufio.NewWriter(w)
	buf.WriteString("# lengths in mm\n")
	var rec []byte
	for _, v := range m.Vertices() {
		rec = append(rec[:0], 'v')
		for _, c := range [3]float64{v.X, v.Y, v.Z} {
			rec = strconv.AppendFloat(append(rec, ' '), c, 'g', -1, 64)
		}
		buf.Write(append(rec, '\n'))
	}
	for _, t := range m.Triangles() {
		rec = append(rec[:0], 'f')
		for _, c := range t {
			rec = strconv.AppendInt(append(rec, ' '), int64(c)+1, 10)
		}
		buf.Write(append(rec, '\n'))
	}
	return buf.Flush() // as above
}
