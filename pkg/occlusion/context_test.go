package occlusion_test

import (
	"context"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/articulate"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/facet"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/report"
	"github.com/cusptrace/cusptrace/pkg/segment"
	"github.com/cusptrace/cusptrace/pkg/settle"
	"github.com/cusptrace/cusptrace/pkg/yield"
)

// A context that is over already stops everything that takes one before any work: nothing
// of what is given is looked at, which is nil here, and no folder is made.
func TestContextThatIsOverDoesNoWork(t *testing.T) {
	over, cancel := context.WithCancel(context.Background())
	cancel()
	dir := filepath.Join(t.TempDir(), "out")
	for name, call := range map[string]func() error{
		"articulate": func() error { _, err := articulate.Articulate(over, nil, nil, articulate.Options{}); return err },
		"cast": func() error {
			_, err := casts.NewCast(over, nil, dentition.Upper, kinematics.Pose{}, casts.AllSurface)
			return err
		},
		"mount":  func() error { _, err := casts.Mount(over, nil, nil, nil); return err },
		"arch":   func() error { _, err := contact.NewArch(over, nil, nil, contact.Options{}); return err },
		"closer": func() error { _, err := contact.NewCloser(over, nil, nil, contact.Options{}); return err },
		"frames": func() error {
			for _, err := range (*contact.Closer)(nil).Frames(over, nil, contact.FrameOptions{}) {
				return err
			}
			return nil
		},
		"display":  func() error { _, err := display.New(over, nil, nil, display.Options{}); return err },
		"facets":   func() error { _, err := facet.Find(over, nil, nil, facet.Options{}); return err },
		"index":    func() error { _, err := index.New(over, nil, nil, index.Options{}); return err },
		"load":     func() error { _, _, err := occlusion.Load(over, casefile.Default()); return err },
		"teeth":    func() error { return occlusion.FindTeeth(over, nil, nil) },
		"assemble": func() error { _, err := occlusion.Assemble(over, nil, nil, nil); return err },
		"examine":  func() error { _, err := occlusion.Examine(over, nil, nil, occlusion.Options{}); return err },
		"report":   func() error { _, err := (*report.Report)(nil).Files(over, report.Options{}); return err },
		"folder":   func() error { return report.WriteDir(over, dir, &findings.Findings{}) },
		"segment":  func() error { _, err := segment.Find(over, nil, dentition.Upper, segment.Options{}); return err },
		"jaw":      func() error { _, _, err := segment.LooksLike(over, nil); return err },
		"settle":   func() error { _, err := settle.Settle(over, nil, nil, settle.Options{}); return err },
		"yield":    func() error { _, err := yield.Yield(over, nil, nil, yield.Options{}); return err },
	} {
		require.ErrorIs(t, call(), context.Canceled, name)
	}
	require.NoDirExists(t, dir)
}
