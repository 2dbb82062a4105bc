package report

import (
	"context"
	"errors"
	"io"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/report/internal/page"
	"github.com/cusptrace/cusptrace/pkg/report/internal/picture"
	"github.com/cusptrace/cusptrace/pkg/report/internal/scene"
	"github.com/cusptrace/cusptrace/pkg/report/internal/tables"
	"github.com/cusptrace/cusptrace/pkg/report/internal/text"
	"github.com/cusptrace/cusptrace/pkg/report/internal/view"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

//go:generate npm --prefix internal/view ci --no-audit --no-fund
//go:generate npm --prefix internal/view run build

// TextOptions say how [WriteSummary] writes.
type TextOptions struct {
	// Colour is for a terminal that shows colours.
	Colour bool
	// Language is that of the text, English where it is nil.
	Language *language.Language
}

func (o TextOptions) options() text.Options {
	return text.Options{Colour: o.Colour, Language: spoken(o.Language)}
}

// spoken is the language of a report.
func spoken(l *language.Language) *language.Language {
	if l == nil {
		return language.English()
	}
	return l
}

// WriteSummary writes what a person wants to know first, in lines for a
// terminal.
func WriteSummary(w io.Writer, f *findings.Findings, o TextOptions) error {
	return text.WriteSummary(w, f, o.options())
}

// WriteArticulated writes how two arches were put together by hand, in lines for
// a terminal.
func WriteArticulated(w io.Writer, a *findings.Articulated, o TextOptions) error {
	return text.WriteArticulated(w, a, o.options())
}

// WriteContacts writes every contact of the findings, one a row: those of the
// closing in intercuspation first (movement centric), then those of each movement.
// Headers carry units; numbers read back exactly; what is not known is empty.
func WriteContacts(w io.Writer, f *findings.Findings) error { return tables.WriteContacts(w, f) }

// WriteFrames writes every frame of every movement, one a row, with the
// clearance of each tooth in a column of its own.
func WriteFrames(w io.Writer, f *findings.Findings) error { return tables.WriteFrames(w, f) }

// Report is what a report is made of.
type Report struct {
	Findings *findings.Findings
	Display  *display.Display
	// Version is that of the program, for the page to say how to repeat the examination;
	// empty where it shall not.
	Version string
	// Language is that of the page and the pictures, English where it is nil.
	Language *language.Language
}

// ErrDisplay says that the display of a report is not of its findings.
var ErrDisplay = errors.New("the display is not of these findings; make it with display.New")

func (r *Report) check() error {
	if r.Findings == nil || r.Display == nil || !r.Display.Outlines.Of(r.Findings) {
		return ErrDisplay
	}
	return nil
}

// Options are what a caller may choose; the zero value is good.
type Options struct {
	// Workers is the number of goroutines, 0 for one a processor. The bytes do not
	// depend on it.
	Workers int
}

// Names are the files that [Report.Files] makes of a case in which some teeth
// will be restored, whatever is found; those that are not on the casts have none. Pictures of
// findings, named by them, come on top (finding-1-premature-contact-26-36.png).
func Names(restore []dentition.ToothID) []string {
	names := []string{"report.html", "scene.glb", "clearance-upper.ply", "clearance-lower.ply"}
	for _, t := range restore {
		names = append(names, words.RoomFile(t))
	}
	return append(names, picture.Names()...)
}

// Files makes the report: a page that stands alone, the casts and their
// movements for other programs, and the still pictures. A display of other findings is
// [ErrDisplay].
func (r *Report) Files(ctx context.Context, o Options) ([]File, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := r.check(); err != nil {
		return nil, err
	}
	l := spoken(r.Language)
	reader := words.Reader{Language: l, Notation: r.Findings.Notation}
	pictures, err := picture.Draw(ctx, reader, r.Findings, r.Display, o.Workers)
	if err != nil {
		return nil, err
	}
	moments, err := picture.DrawMoments(ctx, reader, picture.Moments(r.Findings, r.Display), r.Findings, r.Display, o.Workers)
	if err != nil {
		return nil, err
	}
	pictures = append(pictures, moments...)
	p, err := page.New(view.Built, l, r.Findings, r.Display, r.Version, pictures)
	if err != nil {
		return nil, err
	}
	html, err := p.Render()
	if err != nil {
		return nil, err
	}
	casts, err := scene.Casts(r.Findings, r.Display)
	if err != nil {
		return nil, err
	}
	maps, err := scene.Clearances(r.Display)
	if err != nil {
		return nil, err
	}
	files := []File{{"report.html", html}, {"scene.glb", casts}}
	for _, m := range maps {
		files = append(files, File(m))
	}
	for _, p := range pictures {
		files = append(files, File{p.Name, p.PNG})
	}
	return files, ctx.Err()
}
