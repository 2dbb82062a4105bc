package meshfile_test

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
)

// A scan that a program has in memory is read, welded and written in another
// format.
func Example() {
	scan := []byte("v 0 0 0\nv 10 0 0\nv 0 10 0\nf 1 2 3\n")
	m, err := meshfile.Read(bytes.NewReader(scan), meshfile.ReadOptions{Unit: mesh.Millimetre})
	if err != nil {
		fmt.Println(err)
		return
	}
	var stl bytes.Buffer
	if err := meshfile.WriteSTL(&stl, m); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(m.NumTriangles(), "triangle,", stl.Len(), "bytes")
	// Output: 1 triangle, 134 bytes
}

// What cannot be read is said with its place and what would do.
func ExampleParseError() {
	_, err := meshfile.Read(strings.NewReader("v 0 0 0\nv 1,5 0 0\n"), meshfile.ReadOptions{Unit: mesh.Millimetre, Name: "scan.obj"})
	fmt.Println(err)
	// Output:
	// scan.obj: line 2: not as the format says: found "1,5", expected a number such as -12.5 or 1.25e1
}
