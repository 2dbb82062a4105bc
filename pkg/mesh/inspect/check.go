package inspect

import (
	"errors"
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// ErrShape says that a surface cannot be measured as a dental arch.
var ErrShape = errors.New("cannot be measured as a dental arch")

// CheckArch says why a welded scan, read in unit u, cannot be measured as a whole dental arch:
// an error as of [CheckSize], or one wrapping [ErrShape] where it has no surface, its triangles
// do not hang together, all of it is there twice, or all of it is turned inside out. Nothing is
// repaired: what is outside decides what overlaps, and whoever made the scan knows it.
func CheckArch(m *mesh.Mesh, u mesh.Unit) error {
	t := mesh.BuildTopology(m)
	area, _, _ := moments(t)
	if area == 0 {
		return fmt.Errorf("%w: it has no surface: all %d triangles have no area; export it again", ErrShape, m.NumTriangles())
	}
	if err := CheckSize(m, u); err != nil {
		return err
	}
	alone, n := 0, m.NumTriangles()
	for _, p := range t.Components() {
		if p.Triangles == 1 {
			alone++
		}
	}
	switch twice := len(t.Duplicates()); {
	case 2*alone > n:
		return fmt.Errorf("%w: %d of %d triangles hang together with no other, since the corners of one place are not equal; "+
			"join them in the program that made the scan (weld, merge by distance) and export it again", ErrShape, alone, n)
	case float64(twice) >= twoSidedShare*float64(n):
		return fmt.Errorf("%w: it is two-sided: %d triangles are there twice, so that which side is outside is not known; "+
			"export the outer side alone", ErrShape, twice)
	case Arch(t).Normals == FacingInward:
		return fmt.Errorf("%w: it is inside out: its normals point inward; turn all triangles over (flip or reverse normals) "+
			"and export it again", ErrShape)
	}
	return nil
}
