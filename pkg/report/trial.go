package report

import (
	"context"
	"errors"
	"io"

	"github.com/cusptrace/cusptrace/pkg/compare"
	"github.com/cusptrace/cusptrace/pkg/report/internal/page"
	"github.com/cusptrace/cusptrace/pkg/report/internal/picture"
	"github.com/cusptrace/cusptrace/pkg/report/internal/text"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
	"github.com/cusptrace/cusptrace/pkg/treatment"
)

// WriteTrial writes what a trial treatment did, in lines for a terminal.
func WriteTrial(w io.Writer, t *treatment.Treatment, o TextOptions) error {
	return text.WriteTrial(w, t, o.options())
}

// Trial is what the page of a trial treatment is made of.
type Trial struct {
	Treatment     *treatment.Treatment
	Before, After *Report
	// FilesBefore and FilesAfter are what [Report.Files] made of the two: the page shows
	// their pictures.
	FilesBefore, FilesAfter []File
	// Upper and Lower are how far each vertex of the scans afterwards lies from where the
	// surface was, mm: above 0 where something was added.
	Upper, Lower []float64
}

// File makes the page of a trial treatment, report.html. It links to the pages of both
// examinations in the folders before and after.
func (t *Trial) File(ctx context.Context, o Options) (File, error) {
	if err := errors.Join(t.Before.check(), t.After.check()); err != nil {
		return File{}, err
	}
	l := spoken(t.Before.Language)
	r := words.Reader{Language: l, Notation: t.Before.Findings.Notation}
	p := page.Trial{Reader: r, Doc: t.Treatment}
	var err error
	if p.Before, err = drawn(picture.Described(r, t.Before.Findings), t.FilesBefore); err != nil {
		return File{}, err
	}
	if p.After, err = drawn(picture.Described(r, t.After.Findings), t.FilesAfter); err != nil {
		return File{}, err
	}
	if p.Changes, err = picture.DrawChange(ctx, r, t.After.Display, picture.Change{Upper: t.Upper, Lower: t.Lower},
		o.Workers); err != nil {
		return File{}, err
	}
	moments := picture.Moments(t.Before.Findings, t.Before.Display)
	if p.MomentsBefore, err = drawn(picture.DescribedMoments(r, moments), t.FilesBefore); err != nil {
		return File{}, err
	}
	if p.MomentsAfter, err = picture.DrawSmallMoments(ctx, r, moments, t.After.Findings, t.After.Display, o.Workers); err != nil {
		return File{}, err
	}
	html, err := p.Render()
	return File{"report.html", html}, err
}

// drawn fills in pictures from the files of an examination.
func drawn(out []picture.Picture, files []File) ([]picture.Picture, error) {
	for i := range out {
		for _, file := range files {
			if file.Name != out[i].Name {
				continue
			}
			var err error
			if out[i].Small, err = picture.Small(file.Content); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

// WriteComparison writes how two examinations differ, in lines for a terminal.
func WriteComparison(w io.Writer, c *compare.Comparison, o TextOptions) error {
	return text.WriteComparison(w, c, o.options())
}
