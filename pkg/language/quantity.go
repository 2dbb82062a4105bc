package language

import (
	"math"
	"strconv"
	"strings"
)

// Quantity is a number with its unit, written as finely as the unit deserves.
type Quantity struct {
	Value float64
	Unit  string // as units of the SI are written, with µm, mm, mm², mm³, N, % and ° rounded
}

// Um is a length in micrometres.
func Um(v float64) Quantity { return Quantity{v, "µm"} }

// MM is a length in millimetres.
func MM(v float64) Quantity { return Quantity{v, "mm"} }

// Deg is an angle in degrees.
func Deg(v float64) Quantity { return Quantity{v, "°"} }

// Quantity writes a quantity; number and unit stay on one line.
func (l *Language) Quantity(q Quantity) string {
	var s string
	switch q.Unit {
	case "µm", "%", "N":
		s = strconv.FormatFloat(q.Value, 'f', 0, 64)
		if math.Abs(q.Value) < 9.95 {
			s = strings.TrimSuffix(strconv.FormatFloat(q.Value, 'f', 1, 64), ".0")
		}
	case "mm", "mm²", "mm³":
		s = strconv.FormatFloat(q.Value, 'f', 2, 64)
	case "°":
		s = strconv.FormatFloat(q.Value, 'f', 1, 64)
	default:
		return strings.Replace(strconv.FormatFloat(q.Value, 'g', 4, 64), ".", l.decimal, 1)
	}
	s = strings.Replace(s, ".", l.decimal, 1)
	if q.Unit == "°" || q.Unit == "%" {
		return s + q.Unit
	}
	return s + "\u00a0" + q.Unit
}
