package findings

import (
	"iter"

	"github.com/cusptrace/cusptrace/pkg/language"
)

// Sentence is text of the document.
type Sentence = language.Sentence

// Sentences yields every sentence of the document, to be read or replaced.
func (f *Findings) Sentences() iter.Seq[*Sentence] {
	return func(yield func(*Sentence) bool) {
		f.sentences(func(s *Sentence) bool { return s.Empty() || yield(s) })
	}
}

// sentences calls yield with every sentence until it returns false.
func (f *Findings) sentences(yield func(*Sentence) bool) bool {
	ok := yield(&f.Settling.Text)
	if g := f.Settling.Given; g != nil {
		ok = ok && yield(&g.Text)
		if g.Displaced != nil {
			ok = ok && yield(&g.Displaced.Text)
		}
	}
	if lift := f.Settling.Lift; lift != nil {
		ok = ok && yield(&lift.Text)
	}
	if seat := f.Settling.Seat; seat != nil {
		ok = ok && yield(&seat.Text) && yield(&seat.Reason)
	}
	for _, scan := range [2]*ScanInfo{&f.Scans.Upper, &f.Scans.Lower} {
		for i := range scan.Doubts {
			ok = ok && yield(&scan.Doubts[i].Text)
		}
	}
	for i := range f.Warnings {
		ok = ok && yield(&f.Warnings[i])
	}
	ok = ok && f.Centric.sentences(yield)
	for i := range f.Tissue {
		ok = ok && yield(&f.Tissue[i].Text)
	}
	for i := range f.Excursions {
		ok = ok && f.Excursions[i].sentences(yield)
	}
	if f.Arches != nil {
		ok = ok && yield(&f.Arches.Text)
		for i := range f.Arches.Tipped {
			ok = ok && yield(&f.Arches.Tipped[i].Text)
		}
	}
	if f.Record != nil {
		ok = ok && yield(&f.Record.Text)
	}
	if f.Doubt != nil {
		ok = ok && yield(&f.Doubt.Text)
	}
	for i := range f.Restore {
		ok = ok && f.Restore[i].sentences(yield)
	}
	return ok
}

func (c *Centric) sentences(yield func(*Sentence) bool) bool {
	ok := yield(&c.StopsText) && yield(&c.FoilText)
	for i := range c.Stops {
		ok = ok && yield(&c.Stops[i].Text) && yield(&c.Stops[i].Reason)
	}
	for i := range c.Support {
		ok = ok && yield(&c.Support[i].Text)
	}
	for i := range c.Findings {
		ok = ok && c.Findings[i].sentences(yield)
	}
	if c.Mounting.Tilt != nil {
		ok = ok && yield(&c.Mounting.Tilt.Text)
	}
	for i := range c.Mounting.Reasons {
		ok = ok && yield(&c.Mounting.Reasons[i])
	}
	return ok
}

func (x *Excursion) sentences(yield func(*Sentence) bool) bool {
	ok := yield(&x.Ended)
	for i := range x.Findings {
		ok = ok && x.Findings[i].sentences(yield)
	}
	if x.Guidance != nil {
		for i := range x.Guidance.Patterns {
			for k := range x.Guidance.Patterns[i].Pairs {
				ok = ok && yield(&x.Guidance.Patterns[i].Pairs[k])
			}
		}
	}
	return ok
}

func (g *Finding) sentences(yield func(*Sentence) bool) bool {
	ok := yield(&g.Text)
	if g.Probability != nil {
		ok = ok && yield(&g.Probability.Text)
	}
	for i := range g.Causes {
		ok = ok && yield(&g.Causes[i].Text)
	}
	return ok
}

func (r *Restoration) sentences(yield func(*Sentence) bool) bool {
	ok := yield(&r.Text)
	for _, list := range [...][]RestoreStop{r.Keep, r.Avoid} {
		for i := range list {
			ok = ok && yield(&list[i].Why)
		}
	}
	for i := range r.Wear {
		ok = ok && yield(&r.Wear[i].Why)
	}
	return ok
}
