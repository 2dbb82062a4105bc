package segment

import (
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// Edit says what the teeth are that were found under some names. One name for several teeth
// joins them, several for one part it along its deepest valleys, from the midline backwards, and
// one for one renames it.
type Edit struct {
	// Found are the names under which neighbours were found, with the corrections that
	// point at teeth but without edits, from the midline backwards; Are what they are.
	Found, Are []dentition.ToothID
	// Onwards renames all teeth behind the one tooth of Found with it, each by as much.
	Onwards bool
}

func (e Edit) check(jaw dentition.Jaw) error {
	for _, t := range slices.Concat(e.Found, e.Are) {
		if err := dentition.CheckJaw(t, jaw); err != nil {
			return err
		}
		if t.Deciduous() {
			return fmt.Errorf("%w: %v is a milk tooth, only permanent teeth are found", ErrCorrection, t)
		}
	}
	switch one := len(e.Found) == 1; {
	case len(e.Found) == 0 || len(e.Are) == 0:
		return fmt.Errorf("%w: it names no tooth", ErrCorrection)
	case e.Onwards && (!one || len(e.Are) != 1 || e.Found[0]/10 != e.Are[0]/10):
		return fmt.Errorf("%w: all behind a tooth are renamed within its quadrant, such as 14 and on to 15 and on", ErrCorrection)
	case !one && len(e.Are) != 1:
		return fmt.Errorf("%w: several teeth become one, or one several", ErrCorrection)
	}
	return nil
}

// edit changes a row of teeth as a person says. The place of a seam says where a tooth is parted.
func edit(b *band, row []span, edits []Edit) ([]span, error) {
	for i, e := range edits {
		var err error
		if row, err = e.apply(b, row); err != nil {
			return nil, fmt.Errorf("edits[%d]: %w", i, err)
		}
	}
	return row, nil
}

func (e *Edit) apply(b *band, row []span) ([]span, error) {
	at := make([]int, len(e.Found))
	for i, t := range e.Found {
		if at[i] = slices.IndexFunc(row, func(s span) bool { return s.tooth == t }); at[i] < 0 {
			return nil, fmt.Errorf("%w: no %v was found", ErrCorrection, t)
		}
	}
	row = slices.Clone(row)
	switch {
	case e.Onwards:
		if err := e.onwards(row); err != nil {
			return nil, err
		}
	case len(e.Are) > 1:
		row = slices.Replace(row, at[0], at[0]+1, b.parted(row[at[0]], e.Are)...)
	default:
		lo, hi := slices.Min(at), slices.Max(at)
		if hi-lo != len(at)-1 {
			return nil, fmt.Errorf("%w: %v are not neighbours", ErrCorrection, e.Found)
		}
		row = slices.Replace(row, lo, hi+1, span{tooth: e.Are[0], start: row[lo].start, end: row[hi].end, confidence: 1})
	}
	for i := 1; i < len(row); i++ {
		if placeOf(row[i-1].tooth) >= placeOf(row[i].tooth) {
			return nil, fmt.Errorf("%w: %v and %v would not stand in the order of teeth", ErrCorrection, row[i-1].tooth, row[i].tooth)
		}
	}
	return row, nil
}

// onwards renames a tooth and all behind it.
func (e *Edit) onwards(row []span) error {
	by := int(e.Are[0]) - int(e.Found[0])
	for i := range row {
		s := &row[i]
		if s.tooth/10 != e.Found[0]/10 || s.tooth < e.Found[0] {
			continue
		}
		p := s.tooth.Position() + by
		if p < 1 || p > 8 {
			return fmt.Errorf("%w: %v would become the %d. tooth of its quadrant, there are 8", ErrCorrection, s.tooth, p)
		}
		s.tooth, s.confidence = dentition.ToothID(int(s.tooth)+by), 1
	}
	return nil
}

// parted is a tooth as several, named from the midline backwards: parted where valleys and the
// usual widths say best, by dynamic programming over one border after the other.
func (b *band) parted(s span, names []dentition.ToothID) []span {
	names = slices.Clone(names)
	slices.SortFunc(names, func(x, y dentition.ToothID) int { return placeOf(x) - placeOf(y) })
	widths := &upperWidths
	if names[0].Jaw() == dentition.Lower {
		widths = &lowerWidths
	}
	all := 0.0
	for _, t := range names {
		all += widths[t.Position()-1]
	}
	n, w := s.end-s.start, usualWeights()
	// cost[j] is the least cost of the teeth so far up to column j of the tooth, from[k][j] where
	// the last of them begins.
	cost := make([]float64, n+1)
	for j := 1; j <= n; j++ {
		cost[j] = math.Inf(1)
	}
	from := make([][]int, len(names))
	for k, t := range names {
		next := make([]float64, n+1)
		from[k] = make([]int, n+1)
		usual := float64(n) * widths[t.Position()-1] / all
		for j := range next {
			next[j] = math.Inf(1)
			for i := range j {
				z := (float64(j-i)/usual - 1) / w.width
				if c := cost[i] + z*z/2 + w.seam*b.valley[s.start+i]; c < next[j] {
					next[j], from[k][j] = c, i
				}
			}
		}
		cost = next
	}
	out := make([]span, len(names))
	end := n
	for k := len(names) - 1; k >= 0; k-- {
		start := from[k][end]
		out[k] = span{tooth: names[k], start: s.start + start, end: s.start + end, confidence: 1}
		end = start
	}
	return out
}
