package typodont

import (
	"context"
	"encoding/json"
	"errors"
	"io"

	"github.com/cusptrace/cusptrace/internal/atomicfile"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/golang/geo/s1"
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
	out.Trial = append(out.Trial, c.Params.Trial...)
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

// listName is the file of a folder that lists what was written there.
const listName = "casts.sha256"

// OpenDir holds a folder for [Case.Write]. It says whether the files can be written there:
// they replace only what Write wrote before and nobody changed since.
func OpenDir(dir string) (*atomicfile.Folder, error) {
	return atomicfile.OpenFolder(dir, listName, UpperScan, LowerScan, UpperLabelsFile, LowerLabelsFile, TruthFile, CaseFile)
}

// WriteDir writes scans, labels, case file and truth into a folder, which is made
// where it is missing; see [OpenDir].
func (c *Case) WriteDir(dir string) (err error) {
	f, err := OpenDir(dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return c.Write(context.Background(), f)
}

// Write writes the files of [Case.WriteDir] into an open folder.
func (c *Case) Write(ctx context.Context, f *atomicfile.Folder) error {
	return f.Write(ctx,
		atomicfile.Content{Name: UpperScan, Write: func(w io.Writer) error { return meshfile.WriteSTL(w, c.Upper.Mesh) }},
		atomicfile.Content{Name: LowerScan, Write: func(w io.Writer) error { return meshfile.WriteSTL(w, c.Lower.Mesh) }},
		atomicfile.Content{Name: UpperLabelsFile, Write: c.Upper.Labels.Write},
		atomicfile.Content{Name: LowerLabelsFile, Write: c.Lower.Labels.Write},
		atomicfile.Content{Name: TruthFile, Write: func(w io.Writer) error {
			e := json.NewEncoder(w)
			e.SetIndent("", "  ")
			return e.Encode(truthFile{
				Format: "cusptrace-typodont-truth", Version: 1, Note: "synthetic arches; the person is invented",
				Seed: c.Params.Seed, OverjetMM: c.Params.Overjet, OverbiteMM: c.Params.Overbite, Disturbances: c.Params.Disturbances, Truth: c.Truth,
			})
		}},
		atomicfile.Content{Name: CaseFile, Write: func(w io.Writer) error { return casefile.Write(w, c.CaseFile()) }},
	)
}

// Demo is the scenario of the demo command: casts of an invented person with a
// high mesiopalatal cusp on 26, a nonworking interference on 37 in the right
// excursion, and a short 41; what the mouth showed, and that 26 is to be
// restored. It goes just past edge to edge.
func Demo() Params {
	return Params{
		Name:   "Demo (invented person)",
		Travel: 5,
		// Flatter guidance than usual: what is in the way of it need not stand out of the row of teeth.
		CanineGuidance: 42 * s1.Degree,
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
			{Kind: Interference, Tooth: 37, Movement: "right", Um: 200, MM: 1.5},
			{Kind: Incisor, Tooth: 41, Um: -120},
		},
		Trial: []casefile.TrialStep{
			{Adjust: &casefile.Adjust{What: []casefile.Obstacle{casefile.PrematureContact,
				casefile.NonworkingInterference, casefile.ProtrusiveInterference}}},
			{Wax: &casefile.Wax{Tooth: 41, ShareWith: 31, Movement: kinematics.Protrusive}},
		},
		Seed: 1,
	}
}
