package inspect

import (
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// boxOf spans a box by two triangles.
func boxOf(t *testing.T, size r3.Vec) *mesh.Mesh {
	return testmesh.New([]r3.Vec{{}, {X: size.X}, {Y: size.Y}, size}, [][3]mesh.VertexID{{0, 1, 2}, {1, 3, 2}})
}

// An arch of the mean size of Bits2Bites (FACTS 4.11), written in one unit and
// read in another, is refused with the right unit, whatever the two are. The
// same for the smallest and largest usual ones.
func TestEveryMixUpOfUnitsIsFound(t *testing.T) {
	for _, size := range []r3.Vec{{X: 65.9, Y: 53.84, Z: 17.9}, {X: 40, Y: 50.01, Z: 12}, {X: 89.9, Y: 70, Z: 20}, {X: 10, Y: 15, Z: 70}} {
		for written := mesh.Millimetre; written.Known(); written++ {
			for read := mesh.Millimetre; read.Known(); read++ {
				m := boxOf(t, r3.Scale(read.MM()/written.MM(), size))
				err := CheckSize(m, read)
				if written == read {
					require.NoError(t, err)
					continue
				}
				require.ErrorIs(t, err, ErrSize)
				var se *SizeError
				require.ErrorAs(t, err, &se)
				require.Equal(t, written, se.Fits, "written in %v, read in %v", written, read)
			}
		}
	}
}

func TestCheckSize(t *testing.T) {
	at := func(mm float64, u mesh.Unit) error {
		return CheckSize(boxOf(t, r3.Vec{X: mm, Y: mm / 2, Z: mm / 5}), u)
	}
	for _, mm := range []float64{20, 30, 45, 70, 95, 127, 150} { // milk teeth, casts with a base
		require.NoError(t, at(mm, mesh.Millimetre))
	}
	require.EqualError(t, at(0.0659, mesh.Millimetre),
		"size is impossible for a dental arch: read in mm its largest side is 0.0659 mm, a dental arch has 50 to 90 mm; in m it would be 65.9 mm")
	require.EqualError(t, at(8, mesh.Millimetre),
		"size is impossible for a dental arch: read in mm its largest side is 8 mm, a dental arch has 50 to 90 mm; in cm it would be 80 mm")
	require.EqualError(t, at(1e6, mesh.Metre),
		"size is impossible for a dental arch: read in m its largest side is 1e+06 mm, a dental arch has 50 to 90 mm; "+
			"none of mm, cm, m, inch, um would make it one")
	require.NoError(t, at(30, mesh.Metre), "no other unit would fit better")
	require.ErrorIs(t, at(30, mesh.Centimetre), ErrSize, "3 inches are an arch, 3 cm are not")
	require.ErrorIs(t, at(0, mesh.Millimetre), ErrSize)
	require.ErrorIs(t, at(70, mesh.UnitUnknown), mesh.ErrUnit)

	stray := testmesh.New([]r3.Vec{{}, {X: 70}, {Y: 50}, {X: 5000}}, [][3]mesh.VertexID{{0, 1, 2}})
	require.NoError(t, CheckSize(stray, mesh.Millimetre), "a vertex in no triangle does not count")
}
