package report

import (
	"context"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
)

// Report is what a report is made of.
type Report struct {
	Findings *occlusion.Findings
	Display  *occlusion.Display
	// Origin may be nil; then the page does not say how to repeat it.
	Origin *Origin
}

// Names are the files that [Report.Files] makes of a case in which some teeth
// will be restored; those that are not on the casts have none.
func Names(restore []dentition.ToothID) []string {
	names := []string{"report.html", "scene.glb", "clearance-upper.ply", "clearance-lower.ply"}
	for _, t := range restore {
		names = append(names, roomName(t))
	}
	for i := range stills {
		names = append(names, stillName(&stills[i]))
	}
	return names
}

// roomName is the file of the room over a tooth.
func roomName(t dentition.ToothID) string { return "room-" + t.String() + ".ply" }

// Files makes the report: a page that stands alone, the casts and their
// movements for other programs, and the still pictures.
// workers is the number of goroutines, 0 for one a processor; the bytes do not
// depend on it.
func (r *Report) Files(ctx context.Context, workers int) ([]File, error) {
	pictures, err := drawStills(ctx, r.Findings, r.Display, workers)
	if err != nil {
		return nil, err
	}
	p, err := newPage(viewFiles, r.Findings, r.Display, r.Origin, pictures)
	if err != nil {
		return nil, err
	}
	html, err := p.render()
	if err != nil {
		return nil, err
	}
	scene, err := sceneFile(r.Findings, r.Display)
	if err != nil {
		return nil, err
	}
	maps, err := clearanceFiles(r.Display)
	if err != nil {
		return nil, err
	}
	files := append([]File{{"report.html", html}, {"scene.glb", scene}}, maps...)
	for i := range pictures {
		files = append(files, File{stillName(&stills[i]), pictures[i]})
	}
	return files, ctx.Err()
}
