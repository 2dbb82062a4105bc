// Package meshfile reads and writes the files of scans: STL, PLY and OBJ, from
// a path, an [io.Reader] or bytes in memory (bytes.NewReader).
//
// What is read is in mm and not welded; see [mesh.Weld]. A file is read whole or
// refused with the place of the fault, and written whole or not at all.
package meshfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/cusptrace/cusptrace/internal/inputfile"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Format is a file format for surfaces.
type Format uint8

// The formats that can be read and written. FormatUnknown lets [Read] find the
// format itself.
const (
	FormatUnknown Format = iota
	STL
	PLY
	OBJ
)

func (f Format) String() string {
	switch f {
	case STL:
		return "STL"
	case PLY:
		return "PLY"
	case OBJ:
		return "OBJ"
	}
	return "unknown format"
}

// FormatOf is the format that the extension of a file name stands for,
// FormatUnknown for any other than .stl, .ply and .obj.
func FormatOf(path string) Format {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".stl":
		return STL
	case ".ply":
		return PLY
	case ".obj":
		return OBJ
	}
	return FormatUnknown
}

// ReadOptions says how a scan is to be understood.
type ReadOptions struct {
	// Unit is the unit the file is written in. It must be given.
	Unit mesh.Unit
	// Format is used where it is given; otherwise the content decides, and the
	// extension of Name only where the content does not.
	Format Format
	// Name stands in errors; [ReadFile] puts the path there.
	Name string
	// Tee, if not nil, is written all that is read, a hash for example.
	Tee io.Writer
}

// Bounds on what is read, beyond any scan, so that memory stays bounded too. A scan of
// four million triangles takes 200 MB as binary STL and 1 GB as text. A polygon of more
// corners than maxCorners is no part of a scan; one triangle takes 13 bytes of a file at
// the very least (a binary PLY file of quadrangles with numbers of 16 bits), so a file
// with more triangles than leastBytes allows names the same corners again and again.
const (
	maxFileBytes  = 1 << 30
	maxTriangles  = 4_000_000
	maxCorners    = 10_000
	leastBytes    = 10
	slackTriangle = 10_000 // as many may any file have
	maxLineBytes  = 1 << 20
)

// ReadFile reads a scan from an STL, PLY or OBJ file. See [Read].
func ReadFile(path string, o ReadOptions) (*mesh.Mesh, error) {
	o.Name = path
	if err := o.check(); err != nil {
		return nil, err
	}
	f, size, err := inputfile.Open(path)
	if err != nil {
		return nil, &ParseError{File: path, Offset: -1, Err: fmt.Errorf("cannot open: %w", err)}
	}
	defer f.Close()
	if size > maxFileBytes {
		return nil, &ParseError{File: path, Offset: -1, Err: tooLarge(size)}
	}
	return read(f, size, o)
}

// Read reads a scan in STL (binary or text), PLY (text or binary in either
// byte order) or OBJ and converts it to mm. The format is found from the
// content, whatever the name says: "ply" begins a PLY file; a length of
// 84 + 50·count bytes is binary STL, also where its header begins with
// "solid"; then come text STL and OBJ by their first word.
//
// Vertices and triangles come as they stand in the file: an STL file gives
// three vertices of its own to each triangle, for [mesh.Weld] to join. Polygons are
// cut into a fan from their first corner. Normals, colours, textures and
// properties unknown to us are skipped. Defects of the surface are no errors;
// see package inspect.
//
// Errors are [*ParseError] with the place, wrapping one of the package's
// reasons, or an error wrapping [ErrUnit] where the unit is not given.
func Read(r io.Reader, o ReadOptions) (*mesh.Mesh, error) {
	var size int64
	if left, ok := r.(interface{ Len() int }); ok { // a [bytes.Reader], say: read without growing on the way
		size = int64(min(max(left.Len(), 0), maxFileBytes))
	}
	return read(r, size, o)
}

func read(r io.Reader, size int64, o ReadOptions) (*mesh.Mesh, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	var buf bytes.Buffer
	buf.Grow(int(size) + bytes.MinRead)
	if _, err := buf.ReadFrom(io.LimitReader(r, maxFileBytes+1)); err != nil {
		return nil, &ParseError{File: o.Name, Offset: int64(buf.Len()), Err: err}
	}
	if o.Tee != nil {
		if _, err := o.Tee.Write(buf.Bytes()); err != nil {
			return nil, err
		}
	}
	m, err := decode(buf.Bytes(), o)
	var pe *ParseError
	if errors.As(err, &pe) {
		pe.File = o.Name
	}
	if err != nil {
		return nil, err
	}
	return m, nil
}

func tooLarge(bytes int64) error {
	return wrap(ErrFormat, "found %d bytes, expected at most %d: no scan is as large", bytes, maxFileBytes)
}

func (o ReadOptions) check() error {
	if o.Unit.Known() {
		return nil
	}
	name := o.Name
	if name == "" {
		name = "the scan"
	}
	return wrap(mesh.ErrUnit, "not given for %s, and the file cannot say it; expected one of %s", name, mesh.UnitNames())
}

func decode(data []byte, o ReadOptions) (*mesh.Mesh, error) {
	if len(data) > maxFileBytes {
		return nil, &ParseError{Offset: -1, Err: tooLarge(int64(len(data)))}
	}
	if len(bytes.TrimSpace(newText(data).rest)) == 0 {
		return nil, nowhere(ErrEmpty, "the file is empty")
	}
	format := o.Format
	if format == FormatUnknown {
		format = sniff(data)
	}
	if format == FormatUnknown {
		format = FormatOf(o.Name)
	}
	var read func([]byte, *builder) error
	switch format {
	case STL:
		read = readSTL
	case PLY:
		read = readPLY
	case OBJ:
		read = readOBJ
	default:
		return nil, nowhere(ErrFormat, "neither the content nor the extension %q is of a format that can be read: "+
			"STL, PLY or OBJ", filepath.Ext(o.Name))
	}
	// The mesh checks every coordinate anyhow. Only where something is wrong is
	// the file read again, to find the place of the first fault.
	most := min(maxTriangles, slackTriangle+len(data)/leastBytes)
	b := &builder{scale: o.Unit.MM(), most: most}
	if err := read(data, b); err == nil && len(b.tris) > 0 {
		if m, err := mesh.Adopt(b.verts, b.tris); err == nil {
			return m, nil
		}
	}
	b = &builder{scale: o.Unit.MM(), most: most, placing: true}
	if err := read(data, b); err != nil {
		return nil, err
	}
	if len(b.tris) == 0 {
		return nil, nowhere(ErrEmpty, "found %d vertices but no faces in the %v file", len(b.verts), format)
	}
	return mesh.Adopt(b.verts, b.tris)
}

// sniff tells the format from the content; FormatUnknown where it cannot.
func sniff(data []byte) Format {
	head := newText(data[:min(len(data), 4096)])
	if bytes.HasPrefix(head.rest, []byte("ply")) && len(bytes.TrimSpace(firstLine(head.rest))) == 3 {
		return PLY
	}
	if isBinarySTL(data) {
		return STL
	}
	if bytes.IndexByte(head.rest, 0) >= 0 {
		return FormatUnknown // no text
	}
	for w := head.word(); w != nil; w = head.word() {
		if w[0] == '#' {
			head.cur = nil
			continue
		}
		switch string(w) {
		case "v", "vn", "vt", "vp", "f", "l", "p", "o", "g", "s", "mtllib", "usemtl":
			return OBJ
		}
		if hasPrefixFold(w, "solid") {
			return STL
		}
		break
	}
	return FormatUnknown
}

func firstLine(b []byte) []byte {
	if i := bytes.IndexAny(b, "\r\n"); i >= 0 {
		return b[:i]
	}
	return b
}

func hasPrefixFold(w []byte, prefix string) bool {
	return len(w) >= len(prefix) && strings.EqualFold(string(w[:len(prefix)]), prefix)
}

// builder collects what a reader finds.
type builder struct {
	verts []r3.Vec
	tris  [][3]mesh.VertexID
	scale float64 // mm in a unit of the file
	most  int     // triangles
	// placing checks every coordinate, so that a fault is found at its place.
	placing bool
}

// vertex adds a point given in the file's unit; what is wrong with it is
// returned without a place.
func (b *builder) vertex(x, y, z float64) error {
	p := r3.Vec{X: x * b.scale, Y: y * b.scale, Z: z * b.scale}
	if b.placing {
		if err := mesh.CheckPoint(p); err != nil {
			return err
		}
	}
	b.verts = append(b.verts, p)
	return nil
}

// fan adds a polygon as triangles around its first corner. What is wrong with it is
// returned without a place.
func (b *builder) fan(corners []mesh.VertexID) error {
	switch more := len(corners) - 2; {
	case more < 1:
		return wrap(ErrSyntax, "found a face with %d corners, expected three or more", len(corners))
	case len(b.tris)+more > maxTriangles:
		return tooMany()
	case len(b.tris)+more > b.most:
		return wrap(ErrCount, "more than %d triangles in a file that has no room for as many corners", b.most)
	}
	for i := 2; i < len(corners); i++ {
		b.tris = append(b.tris, [3]mesh.VertexID{corners[0], corners[i-1], corners[i]})
	}
	return nil
}

// tooMany refuses what no scan has.
func tooMany() error {
	return wrap(ErrCount, "more than %d triangles; thin the scan out, which loses nothing that a scanner can see", maxTriangles)
}

func tooManyCorners() error {
	return wrap(ErrSyntax, "found a face with more than %d corners, no scan has such", maxCorners)
}

// corner adds a corner to a polygon.
func corner(corners []mesh.VertexID, v mesh.VertexID) ([]mesh.VertexID, error) {
	if len(corners) == maxCorners {
		return nil, tooManyCorners()
	}
	return append(corners, v), nil
}
