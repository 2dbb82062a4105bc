package segment

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"gonum.org/v1/gonum/spatial/r3"
)

// Say adds a correction, an edit or a border in the form in which their String writes them: "16=x,y,z" (mm,
// 0 for no tooth), "14+15=14", "14=14+15", "14=15", "14..=15.." or "16=border/x,y,z/x,y,z".
func (o *Options) Say(s string) error {
	if code, line, ok := strings.Cut(s, "="); ok && strings.HasPrefix(strings.TrimSpace(line), borderWord) {
		b, err := parseBorder(code, strings.TrimSpace(line))
		if err != nil {
			return fmt.Errorf("%q: %w", s, err)
		}
		o.Borders = append(o.Borders, b)
		return nil
	}
	if strings.Contains(s, ",") {
		c, err := parseCorrection(s)
		if err != nil {
			return err
		}
		o.Corrections = append(o.Corrections, c)
		return nil
	}
	e, err := parseEdit(s)
	if err != nil {
		return err
	}
	o.Edits = append(o.Edits, e)
	return nil
}

// parseEdit reads teeth found and what they are.
func parseEdit(s string) (e Edit, err error) {
	found, are, ok := strings.Cut(s, "=")
	if !ok {
		return e, fmt.Errorf("found %q, expected tooth=x,y,z such as 16=12.3,40.1,-2, or teeth=teeth such as 14+15=14", s)
	}
	first, on1 := strings.CutSuffix(strings.TrimSpace(found), "..")
	then, on2 := strings.CutSuffix(strings.TrimSpace(are), "..")
	if on1 != on2 {
		return e, fmt.Errorf("found %q, expected .. after both teeth, such as 14..=15.., or after none", s)
	}
	e.Onwards = on1
	for _, l := range []struct {
		text string
		to   *[]dentition.ToothID
	}{{first, &e.Found}, {then, &e.Are}} {
		for _, code := range strings.Split(l.text, "+") {
			t, err := dentition.ParseTooth(strings.TrimSpace(code))
			if err != nil {
				return e, fmt.Errorf("%q: %w", s, err)
			}
			*l.to = append(*l.to, t)
		}
	}
	return e, nil
}

// parseCorrection reads "16=x,y,z", 0 for no tooth.
func parseCorrection(s string) (c Correction, err error) {
	code, at, ok := strings.Cut(s, "=")
	if !ok || strings.Count(at, ",") != 2 {
		return c, fmt.Errorf("found %q, expected tooth=x,y,z such as 16=12.3,40.1,-2", s)
	}
	if code = strings.TrimSpace(code); code != "0" {
		if c.Tooth, err = dentition.ParseTooth(code); err != nil {
			return c, err
		}
	}
	if c.Point, err = parsePoint(at); err != nil {
		return c, fmt.Errorf("%q: %w", s, err)
	}
	return c, nil
}

// parseBorder reads the points of "border/x,y,z/x,y,z".
func parseBorder(code, line string) (b Border, err error) {
	if b.Tooth, err = dentition.ParseTooth(strings.TrimSpace(code)); err != nil {
		return b, err
	}
	parts := strings.Split(strings.TrimPrefix(line, borderWord), "/")
	if parts[0] != "" || len(parts) < 3 {
		return b, errors.New("expected two points or more, such as 16=border/12.3,40.1,-2/14,41.5,-2.2")
	}
	for _, at := range parts[1:] {
		p, err := parsePoint(at)
		if err != nil {
			return b, err
		}
		b.Points = append(b.Points, p)
	}
	return b, nil
}

// parsePoint reads "x,y,z".
func parsePoint(s string) (r3.Vec, error) {
	numbers := strings.Split(s, ",")
	if len(numbers) != 3 {
		return r3.Vec{}, fmt.Errorf("%q is no point, expected x,y,z", s)
	}
	var v [3]float64
	for i, n := range numbers {
		var err error
		if v[i], err = strconv.ParseFloat(strings.TrimSpace(n), 64); err != nil {
			return r3.Vec{}, fmt.Errorf("%q in %q is no number", n, s)
		}
	}
	return r3.Vec{X: v[0], Y: v[1], Z: v[2]}, nil
}
