package serve

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"

	"github.com/cusptrace/cusptrace/internal/trialfiles"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/report"
	"github.com/cusptrace/cusptrace/pkg/trial"
)

// Names of a trial in the private folder: the case with its steps, and what came of them.
const (
	trialCase = "trial.yaml"
	trialName = "trial"
)

// offer is a step that may be tried, and for which findings.
type offer struct {
	findings []language.Sentence
	step     casefile.TrialStep
	says     language.Sentence
}

// obstacles are the findings that an adjustment takes away.
var obstacles = map[findings.Kind]casefile.Obstacle{
	findings.KindPremature:              casefile.PrematureContact,
	findings.KindNonworkingInterference: casefile.NonworkingInterference,
	findings.KindWorkingInterference:    casefile.WorkingInterference,
	findings.KindProtrusiveInterference: casefile.ProtrusiveInterference,
}

// guidanceDeg is the inclination at which waxed canines are offered to guide: lateral guidance of natural
// teeth is 48 ± 10° in the frontal plane (as in the schema of the case); a little less, our choice.
const guidanceDeg = 45

// offers lists what may be tried: for every finding that stands in the way its reduction, for guidance that is
// shallow, uneven or not by the canine its waxing.
func offers(f *findings.Findings) (out []offer) {
	reduce := func(list []findings.Finding) {
		for i := range list {
			o, ok := obstacles[list[i].Kind]
			if !ok || list[i].Doubtful {
				continue
			}
			k := slices.IndexFunc(out, func(x offer) bool { return x.step.Adjust != nil && x.step.Adjust.What[0] == o })
			if k < 0 {
				k = len(out)
				out = append(out, offer{step: casefile.TrialStep{Adjust: &casefile.Adjust{What: []casefile.Obstacle{o}}},
					says: language.Say("serve.try.adjust." + string(o))})
			}
			out[k].findings = append(out[k].findings, list[i].Text)
		}
	}
	reduce(f.Centric.Findings)
	for i := range f.Excursions {
		reduce(f.Excursions[i].Findings)
	}
	for i := range f.Excursions {
		x := &f.Excursions[i]
		m, err := kinematics.ParseMovement(string(x.Movement))
		if err != nil {
			continue
		}
		for j := range x.Findings {
			if w := waxFor(&x.Findings[j], m); w != nil {
				with := language.With{"tooth": findings.Part(w.Tooth), "movement": findings.NameMovement(x.Movement)}
				out = append(out, offer{[]language.Sentence{x.Findings[j].Text}, casefile.TrialStep{Wax: w}, language.Say("serve.try.wax", with)})
			}
		}
	}
	return out
}

// waxFor is the wax that may help where guidance is shallow, on one side only, or not by the canine; nil for others.
func waxFor(f *findings.Finding, m kinematics.Movement) *casefile.Wax {
	upper := f.Upper.Tooth()
	switch {
	case f.Kind == findings.KindUneven && upper != dentition.NoTooth:
		return &casefile.Wax{Tooth: upper.Mirror(), Movement: m, ShareWith: upper}
	case f.Kind == findings.KindShallow && upper != dentition.NoTooth:
		return &casefile.Wax{Tooth: upper, Movement: m, As: upper.Mirror()}
	case f.Kind == findings.KindGuidance && m != kinematics.Protrusive && f.Pattern != findings.CanineGuidance:
		canine := dentition.ToothID(13)
		if m == kinematics.Left {
			canine = 23
		}
		return &casefile.Wax{Tooth: canine, Movement: m, InclinationDeg: guidanceDeg}
	}
	return nil
}

// chosen are the steps of the offers that a form chooses: one adjustment of all that is to be reduced, then
// the waxing.
func (x *session) chosen(form url.Values) []casefile.TrialStep {
	var adjust casefile.Adjust
	var wax []casefile.TrialStep
	for _, s := range form["step"] {
		i, err := strconv.Atoi(s)
		if err != nil || i < 0 || i >= len(x.offers) {
			continue
		}
		step := x.offers[i].step
		switch {
		case step.Wax != nil:
			wax = append(wax, step)
		case !slices.Contains(adjust.What, step.Adjust.What[0]):
			adjust.What = append(adjust.What, step.Adjust.What[0])
		}
	}
	var out []casefile.TrialStep
	if adjust.What != nil {
		out = append(out, casefile.TrialStep{Adjust: &adjust})
	}
	return append(out, wax...)
}

// try carries out steps on copies of the casts, as cusptrace trial does. The caller holds mu.
func (x *session) try(form url.Values) error {
	x.picked = form["step"]
	if err := x.readPin(form); err != nil {
		return err
	}
	c, pin := *x.c, x.pin
	if c.Trial = x.chosen(form); len(c.Trial) == 0 {
		return x.sentence("serve.try.none", nil)
	}
	x.tried = false
	var text bytes.Buffer
	if err := x.writeCase(&text, &c); err != nil {
		return err
	}
	x.start(language.Say("serve.working.reading"), func(ctx context.Context) (func(), error) {
		if err := x.files.store(trialCase, bytes.NewReader(text.Bytes())); err != nil {
			return nil, err
		}
		r, err := x.runTrial(ctx)
		if errors.Is(err, trial.ErrTrial) {
			return nil, x.sentence("serve.try.refused", language.With{"why": err.Error()})
		} else if err != nil {
			return nil, err
		}
		table, err := pin.table(ctx, x, &r.After)
		if err != nil {
			return nil, err
		}
		return func() { x.tried = true }, x.writeTrial(ctx, r, table)
	})
	return nil
}

// runTrial carries out the steps of the case with steps.
func (x *session) runTrial(ctx context.Context) (*trial.Result, error) {
	c, warnings, err := casefile.Read(filepath.Join(x.files.dir, trialCase))
	if err != nil {
		return nil, err
	}
	upper, lower, err := occlusion.Load(ctx, c)
	if err != nil {
		return nil, err
	}
	x.show(language.Say("serve.working.teeth"), 0, 0)
	if err := occlusion.FindTeeth(ctx, upper, lower); err != nil {
		return nil, err
	}
	progress := func(what string, done, total int) {
		text := language.Say("serve.working.trying")
		switch what {
		case "before", "after":
			text = language.Say("serve.working." + what)
		case "samples":
			text = language.Say("serve.working.samples", language.With{"done": done, "total": total})
		}
		x.show(text, done, total)
	}
	r, err := trial.Run(ctx, c, upper, lower, trial.Options{Workers: x.o.Workers, Samples: x.o.Samples, Progress: progress})
	if err != nil {
		return nil, err
	}
	for _, w := range warnings {
		r.Before.Findings.Warnings = append(r.Before.Findings.Warnings, language.Literal(w.String()))
	}
	return r, nil
}

// writeTrial writes the files of a trial into the private folder.
func (x *session) writeTrial(ctx context.Context, r *trial.Result, table *mesh.Mesh) error {
	x.show(language.Say("serve.working.report"), 0, 0)
	files, err := trialfiles.Make(ctx, r, trialfiles.Options{Workers: x.o.Workers, Version: x.o.Version, Language: x.o.Language,
		GuideTable: table})
	if err != nil {
		return err
	}
	return x.files.write(func() error {
		dir := x.files.path(trialName)
		if err := os.RemoveAll(dir); err != nil {
			return err
		}
		for _, e := range []struct {
			name  string
			f     *findings.Findings
			files []report.File
		}{{"before", r.Before.Findings, files.Before}, {"after", r.After.Findings, files.After}} {
			if err := report.WriteDir(ctx, filepath.Join(dir, e.name), e.f, e.files...); err != nil {
				return err
			}
		}
		for _, f := range files.Own {
			if err := os.WriteFile(filepath.Join(dir, f.Name), f.Content, 0o600); err != nil {
				return err
			}
		}
		return nil
	})
}

// trialPages are the pages of a trial by their addresses.
var trialPages = map[string]string{
	"/trial.html": "report.html", "/trial-before.html": filepath.Join("before", "report.html"),
	"/trial-after.html": filepath.Join("after", "report.html"),
}

// trialPage sends a page of a trial, in a sandbox.
func (s *Server) trialPage(w http.ResponseWriter, r *http.Request) {
	s.session.mu.Lock()
	there := s.session.done && s.session.tried
	s.session.mu.Unlock()
	name, ok := trialPages[r.URL.Path]
	if !there || !ok {
		http.NotFound(w, r)
		return
	}
	text, err := os.ReadFile(filepath.Join(s.files.dir, trialName, name))
	if err != nil {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Security-Policy", reportPolicy)
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = w.Write(reportLinks.ReplaceAll(text, nil))
}

// reportLinks are those of the page of a trial to its reports before and after. In the sandbox, which has no cookie, they
// lead nowhere; the page around it has them.
var reportLinks = regexp.MustCompile(`<li><a href="(before|after)/report\.html">[^<]*</a></li>`)
