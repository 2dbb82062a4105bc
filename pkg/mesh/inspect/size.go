package inspect

import (
	"errors"
	"fmt"
	"github.com/cusptrace/cusptrace/internal/portable"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"math"
)

// ErrSize is the reason of a [*SizeError].
var ErrSize = errors.New("size is impossible for a dental arch")

// Sizes of a whole dental arch, by the largest side of its box in mm. Scans of
// 200 people average 65.9 (Bits2Bites data set); 50 to 90 is the usual range.
// Outside 20 to 150 it is no whole arch: a milk dentition is above 40, a
// plaster base below 120. Between the two the size is doubted only where
// another unit would bring it into the usual range; the closest mix-up, inch
// for cm, is off by 2.54, so of a usual arch every mix-up is found.
const (
	archUsualMin, archUsualMax       = 50, 90
	archPossibleMin, archPossibleMax = 20, 150
	archMean                         = 65.9
	archDoubtMin                     = archUsualMax / 2.54
	archDoubtMax                     = archUsualMin * 2.54
)

// SizeError says that a scan is not as large as a dental arch can be.
type SizeError struct {
	LargestMM float64   // largest side of the scan's box, mm
	Unit      mesh.Unit // the unit it was read in
	Fits      mesh.Unit // the unit in which it would be an arch; UnitUnknown where none would
}

func (e *SizeError) Error() string {
	s := fmt.Sprintf("%v: read in %v its largest side is %.4g mm, a dental arch has %d to %d mm", ErrSize, e.Unit,
		e.LargestMM, archUsualMin, archUsualMax)
	if e.Fits == mesh.UnitUnknown {
		return s + "; none of " + mesh.UnitNames() + " would make it one"
	}
	return s + fmt.Sprintf("; in %v it would be %.4g mm", e.Fits, e.LargestMM/e.Unit.MM()*e.Fits.MM())
}

// Unwrap makes the error an [ErrSize].
func (e *SizeError) Unwrap() error { return ErrSize }

// CheckSize says with a [*SizeError] whether a scan, read in unit u, is too
// small or too large for a whole dental arch, and which unit would fit. Single
// teeth and parts of arches are too small by intent: do not call it for them.
func CheckSize(m *mesh.Mesh, u mesh.Unit) error {
	if !u.Known() {
		return fmt.Errorf("%w: not given, expected one of %s", mesh.ErrUnit, mesh.UnitNames())
	}
	size := surfaceBox(m).Size()
	mm := max(size.X, size.Y, size.Z)
	possible := mm >= archPossibleMin && mm <= archPossibleMax
	if possible && mm >= archDoubtMin && mm <= archDoubtMax {
		return nil
	}
	e := &SizeError{LargestMM: mm, Unit: u}
	lo, hi := float64(archPossibleMin), float64(archPossibleMax)
	if possible {
		lo, hi = archUsualMin, archUsualMax
	}
	best := math.Inf(1)
	for f := mesh.Millimetre; f.Known(); f++ {
		s := mm / u.MM() * f.MM()
		if d := math.Abs(portable.Log(s / archMean)); f != u && s >= lo && s <= hi && d < best {
			best, e.Fits = d, f
		}
	}
	if possible && e.Fits == mesh.UnitUnknown {
		return nil
	}
	return e
}
