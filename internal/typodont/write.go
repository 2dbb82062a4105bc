package typodont

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"

	"github.com/cusptrace/cusptrace/internal/atomicfile"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
)

// Names of the files that [Case.WriteDir] writes.
const (
	CaseFile        = "case.yaml"
	TruthFile       = "truth.json"
	UpperScan       = "upper.stl"
	LowerScan       = "lower.stl"
	UpperLabelsFile = "upper.labels.json"
	LowerLabelsFile = "lower.labels.json"
)

// CaseFile is the case as a case file says it (docs/case-file.md): average mounting
// with the exact points, the settings the arches were built for, and settling
// off, since they stand in intercuspation as they are.
func (c *Case) CaseFile() *casefile.Case {
	out := casefile.Default()
	out.Name = c.Params.Name
	out.Upper = casefile.Arch{Scan: UpperScan, Labels: UpperLabelsFile}
	out.Lower = casefile.Arch{Scan: LowerScan, Labels: LowerLabelsFile}
	point := func(p Point) *casefile.Point { return &casefile.Point{p.X, p.Y, p.Z} }
	a := out.Mount.Average
	a.IncisalPoint, a.RightMolar, a.LeftMolar = point(c.Truth.IncisalPoint), point(c.Truth.RightMolar), point(c.Truth.LeftMolar)
	a.CondyleToIncisalMM, a.BalkwillDeg = c.Params.CondyleToIncisal, c.Params.Balkwill.Degrees()
	out.Settings.IntercondylarMM = c.Params.Intercondylar
	for _, s := range []*casefile.Side{&out.Settings.Right, &out.Settings.Left} {
		s.CondylarInclinationDeg = c.Params.CondylarInclination.Degrees()
		s.SideShiftAngleDeg = c.Params.SideShiftAngle.Degrees()
	}
	out.Settle = casefile.Settle{How: casefile.SettleNone}
	if c.Params.Travel > 0 {
		for i := range out.Excursions {
			out.Excursions[i].MaxMM = c.Params.Travel
		}
	}
	if c.Params.Record != nil {
		out.Record = c.Params.Record
	}
	out.Restore = append(out.Restore, c.Params.Restore...)
	return out
}

// truthFile is the form of truth.json.
type truthFile struct {
	Format       string        `json:"format"`
	Version      int           `json:"version"`
	Note         string        `json:"note"`
	Seed         uint64        `json:"seed"`
	OverjetMM    float64       `json:"overjet_mm"`
	OverbiteMM   float64       `json:"overbite_mm"`
	Disturbances []Disturbance `json:"disturbances"`
	Truth
}

// WriteDir writes scans, labels, case file and truth into a folder, which is made
// where it is missing. Each file appears whole or not at all; files of the same
// names are replaced.
func (c *Case) WriteDir(dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("typodont: %w", err)
	}
	if err := meshfile.WriteFile(filepath.Join(dir, UpperScan), c.Upper.Mesh, nil); err != nil {
		return fmt.Errorf("typodont: %w", err)
	}
	if err := meshfile.WriteFile(filepath.Join(dir, LowerScan), c.Lower.Mesh, nil); err != nil {
		return fmt.Errorf("typodont: %w", err)
	}
	var text bytes.Buffer
	write := func(name string) error {
		err := atomicfile.WriteFile(filepath.Join(dir, name), text.Bytes(), 0o644)
		text.Reset()
		if err != nil {
			return fmt.Errorf("typodont: %w", err)
		}
		return nil
	}
	if err := c.Upper.Labels.Write(&text); err != nil {
		return fmt.Errorf("typodont: %w", err)
	}
	if err := write(UpperLabelsFile); err != nil {
		return err
	}
	if err := c.Lower.Labels.Write(&text); err != nil {
		return fmt.Errorf("typodont: %w", err)
	}
	if err := write(LowerLabelsFile); err != nil {
		return err
	}
	e := json.NewEncoder(&text)
	e.SetIndent("", "  ")
	err := e.Encode(truthFile{
		Format: "cusptrace-typodont-truth", Version: 1, Note: "synthetic arches; the person is invented",
		Seed: c.Params.Seed, OverjetMM: c.Params.Overjet, OverbiteMM: c.Params.Overbite, Disturbances: c.Params.Disturbances, Truth: c.Truth,
	})
	if err != nil {
		return fmt.Errorf("typodont: %w", err)
	}
	if err := write(TruthFile); err != nil {
		return err
	}
	if err := casefile.Write(&text, c.CaseFile()); err != nil {
		return fmt.Errorf("typodont: %w", err)
	}
	return write(CaseFile)
}

// Demo is the scenario of the demo command: casts of an invented person with a
// high mesiopalatal cusp on 26, a nonworking interference on 37 in the right
// excursion, and a short 41; what the mouth showed, and that 26 is to be
// restored. It goes just past edge to edge.
func Demo() Params {
	return Params{
		Name:   "Demo (invented person)",
		Travel: 5,
		Record: &casefile.Record{
			FoilUm: 8,
			Foil: map[dentition.ToothID]casefile.Hold{
				11: casefile.Passes, 16: casefile.Passes, 21: casefile.Passes, 26: casefile.Holds, 46: casefile.Passes,
			},
			Marks: casefile.Marks{Right: []casefile.Mark{{Upper: 13, Lower: 43}, {Upper: 27, Lower: 37}}},
			Notes: "Feels high on the left.",
		},
		Restore: []dentition.ToothID{26},
		Disturbances: []Disturbance{
			{Kind: Raise, Tooth: 26, Cusp: "mesiopalatal", Um: 120},
			{Kind: Interference, Tooth: 37, Movement: "right", Um: 200, MM: 2},
			{Kind: Incisor, Tooth: 41, Um: -120},
		},
		Seed: 1,
	}
}
