package cli

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/articulate"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"gonum.org/v1/gonum/spatial/r3"
)

// parsePointPair reads "x,y,z=x,y,z": a point of the upper scan and the point of the
// lower one that touches it, each in its own file's frame and unit.
func parsePointPair(s string, mm float64) (p articulate.PointPair, err error) {
	upper, lower, ok := strings.Cut(s, "=")
	if !ok {
		return p, fmt.Errorf("found %q, expected UPPER=LOWER such as 12.3,40.1,-2=-8,3.5,11", s)
	}
	if p.Upper, err = parsePoint(upper, mm); err != nil {
		return p, err
	}
	p.Lower, err = parsePoint(lower, mm)
	return p, err
}

func parsePoint(s string, mm float64) (r3.Vec, error) {
	numbers := strings.Split(s, ",")
	if len(numbers) != 3 {
		return r3.Vec{}, fmt.Errorf("found %q, expected three numbers x,y,z", s)
	}
	var v [3]float64
	for i, n := range numbers {
		x, err := strconv.ParseFloat(strings.TrimSpace(n), 64)
		if err != nil {
			return r3.Vec{}, fmt.Errorf("%q in %q is no number", n, s)
		}
		v[i] = x * mm
	}
	return r3.Vec{X: v[0], Y: v[1], Z: v[2]}, nil
}

// parseToothPair reads "16=46": an upper and a lower tooth that meet.
func parseToothPair(s string) (p [2]dentition.ToothID, err error) {
	upper, lower, ok := strings.Cut(s, "=")
	if !ok {
		return p, fmt.Errorf("found %q, expected an upper and a lower tooth such as 16=46", s)
	}
	for i, code := range [2]string{upper, lower} {
		if p[i], err = dentition.ParseTooth(strings.TrimSpace(code)); err != nil {
			return p, err
		}
	}
	if p[0].Jaw() != dentition.Upper || p[1].Jaw() != dentition.Lower {
		return p, fmt.Errorf("found %q, expected an upper tooth and then a lower one such as 16=46", s)
	}
	return p, nil
}
