package serve

import (
	"bytes"
	"context"
	"io"
	"path/filepath"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/report"
)

// Names in the private folder.
const (
	caseName    = "case.yaml"
	resultsName = "results"
)

// caseText is the case file as it stands. The caller holds mu.
func (s *session) caseText() ([]byte, error) {
	var b bytes.Buffer
	err := s.writeCase(&b, s.c)
	return b.Bytes(), err
}

// writeCase writes a case with the scans as they lie in the private folder. The caller holds mu.
func (s *session) writeCase(w io.Writer, of *casefile.Case) error {
	c := *of
	c.Units = s.unit
	c.Upper, c.Lower = s.scans[0].arch(), s.scans[1].arch()
	return casefile.Write(w, &c)
}

// examine examines the case as the command does: from its file, into a folder. The caller holds mu.
func (s *session) examine() {
	text, err := s.caseText()
	if err != nil {
		s.problem = err.Error()
		return
	}
	s.start(language.Say("serve.working.reading"), func(ctx context.Context) (func(), error) {
		if err := s.files.store(caseName, bytes.NewReader(text)); err != nil {
			return nil, err
		}
		f, files, err := s.run(ctx)
		if err != nil {
			return nil, err
		}
		err = s.files.write(func() error { return report.WriteDir(ctx, s.files.path(resultsName), f, files...) })
		return func() { s.done, s.offers, s.picked, s.tried = true, offers(f), nil, false }, err
	})
}

// run does the work of an examination.
func (s *session) run(ctx context.Context) (*findings.Findings, []report.File, error) {
	c, warnings, err := casefile.Read(filepath.Join(s.files.dir, caseName))
	if err != nil {
		return nil, nil, err
	}
	upper, lower, err := occlusion.Load(ctx, c)
	if err != nil {
		return nil, nil, err
	}
	s.show(language.Say("serve.working.teeth"), 0, 0)
	if err := occlusion.FindTeeth(ctx, upper, lower); err != nil {
		return nil, nil, err
	}
	s.show(language.Say("serve.working.mounting"), 0, 0)
	pair, err := occlusion.Assemble(ctx, c, upper, lower)
	if err != nil {
		return nil, nil, err
	}
	s.show(language.Say("serve.working.closing"), 0, 0)
	settled := pair.Settling.Pose.Pose
	s.move(pair.Mount, settled)
	f, err := occlusion.Examine(ctx, c, pair, occlusion.Options{Workers: s.o.Workers, Samples: s.o.Samples,
		Progress: func(done, total int) { s.show(language.Sentence{}, done, total) },
		Frame:    func(m findings.Movement, f *findings.Frame) { s.showFrame(m, f, pair.Mount, settled) },
		Sampled: func(done, total int) {
			s.show(language.Say("serve.working.samples", language.With{"done": done, "total": total}), done, total)
		},
	})
	if err != nil {
		return nil, nil, err
	}
	for _, w := range warnings {
		f.Warnings = append(f.Warnings, language.Literal(w.String()))
	}
	s.show(language.Say("serve.working.report"), 0, 0)
	d, err := display.New(ctx, pair, f, display.Options{Workers: s.o.Workers})
	if err != nil {
		return nil, nil, err
	}
	r := report.Report{Findings: f, Display: d, Version: s.o.Version, Language: s.o.Language}
	files, err := r.Files(ctx, report.Options{Workers: s.o.Workers})
	return f, files, err
}

// showFrame tells of a position of a movement that was computed, of casts that were mounted and settled so.
func (s *session) showFrame(m findings.Movement, f *findings.Frame, mount, settled kinematics.Pose) {
	s.mu.Lock()
	if s.job != nil {
		s.job.text = language.Say("serve.working.frame",
			language.With{"movement": findings.NameMovement(m), "at": f.TravelMM, "opening": f.OpeningDeg})
	}
	s.mu.Unlock()
	s.move(mount, settled.Then(f.Pose.Pose))
}

// move says where the casts stand that are being examined.
func (s *session) move(mount, lower kinematics.Pose) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.job != nil {
		s.job.mount, s.job.at = &mount, &lower
	}
}
