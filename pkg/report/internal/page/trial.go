package page

import (
	"bytes"
	"encoding/base64"
	"html/template"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/compare"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/picture"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
	"github.com/cusptrace/cusptrace/pkg/treatment"
)

// Trial is what the page of a trial treatment shows.
type Trial struct {
	Reader words.Reader
	Doc    *treatment.Treatment
	// Before and After are the standard pictures of both examinations, Changes the maps of
	// what was removed and added.
	Before, After, Changes []picture.Picture
	// MomentsBefore and MomentsAfter are the findings before the treatment, each at its
	// travel, on the casts before and after.
	MomentsBefore, MomentsAfter []picture.Picture
}

// trialPage is the page of a trial in words.
type trialPage struct {
	Lang, Title        string
	Style              template.CSS
	Summary            string
	Consequences       []string
	Cautions           []string
	Steps              []trialStep
	Refused            []string
	Gone, New, Changed []string
	Stairs             []string
	Pairs              []trialPair
	Moments            []trialPair
	Changes            []pageStill
}

// trialPair is a view before and after, one over the other.
type trialPair struct {
	ID, Title     string
	Before, After template.URL
	AltA, AltB    string
}

// trialStep is a step with its numbers.
type trialStep struct {
	Number                               int
	Place, Size, By, Frees, Warning, Way string
}

// compared are the views that are laid over each other: from the front and the occlusal
// sides.
var compared = []string{"picture-upper.png", "picture-lower.png", "picture-front.png"}

// Render makes the page.
func (t *Trial) Render() ([]byte, error) {
	r, d := t.Reader, t.Doc
	style, err := pageFiles.ReadFile("page.css")
	if err != nil {
		return nil, err
	}
	p := trialPage{Lang: r.Language.Code(), Title: r.Say("trial.title"), Style: template.CSS(style), Summary: r.Write(d.Summary)}
	if d.Name != "" {
		p.Title = d.Name
	}
	all := func(list []findings.Sentence) (out []string) {
		for _, s := range list {
			out = append(out, r.Write(s))
		}
		return out
	}
	p.Consequences, p.Cautions = all(d.Consequences), all(d.Cautions)
	for i := range d.Steps {
		s := &d.Steps[i]
		if !s.Refused.Empty() {
			p.Refused = append(p.Refused, r.Write(s.Refused))
			continue
		}
		p.Steps = append(p.Steps, trialStep{Number: s.Number, Place: r.Write(words.StepPlace(s)), Size: r.Write(words.StepSize(s)),
			By:    strings.TrimSpace(r.Write(s.LimitedBy) + " " + r.Write(words.Shaped(s))),
			Frees: strings.Join(all(s.Frees), " "), Warning: r.Write(s.Warning), Way: r.Say("trial.kind." + string(s.Kind))})
	}
	texts := func(list []compare.Place) (out []string) {
		for i := range list {
			out = append(out, r.Write(list[i].Text))
		}
		return out
	}
	p.Gone, p.New = texts(d.Findings.Gone), texts(d.Findings.New)
	for i := range d.Findings.Changed {
		p.Changed = append(p.Changed, r.Write(words.Changed(&d.Findings.Changed[i])))
	}
	for i := range d.Stairs {
		p.Stairs = append(p.Stairs, r.Write(words.Stair(&d.Stairs[i])))
	}
	for _, name := range compared {
		for i := range t.Before {
			if a := &t.Before[i]; a.Name == name {
				p.Pairs = append(p.Pairs, trialPair{ID: strings.TrimSuffix(name, ".png"), Title: a.Title, Before: inline(a.Small),
					After: inline(t.After[i].Small), AltA: a.Alt, AltB: t.After[i].Alt})
			}
		}
	}
	for i := range t.MomentsBefore {
		a, b := &t.MomentsBefore[i], &t.MomentsAfter[i]
		p.Moments = append(p.Moments, trialPair{ID: strings.TrimSuffix(a.Name, ".png"), Title: a.Title, Before: inline(a.Small),
			After: inline(b.Small), AltA: a.Alt, AltB: b.Alt})
	}
	for _, s := range t.Changes {
		p.Changes = append(p.Changes, pageStill{Title: s.Title, File: s.Name, Alt: s.Alt, Source: inline(s.Small)})
	}
	return p.render(r)
}

// inline is a picture as the page holds it.
func inline(png []byte) template.URL {
	return template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(png))
}

func (p *trialPage) render(r words.Reader) ([]byte, error) {
	say := template.FuncMap{"say": func(key string) string { return r.Say(key) }}
	t, err := template.New("trial.html").Funcs(say).ParseFS(pageFiles, "trial.html")
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = t.Execute(&b, p)
	return b.Bytes(), err
}
