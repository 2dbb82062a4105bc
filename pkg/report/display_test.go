package report_test

import (
	"context"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report"
	"github.com/stretchr/testify/require"
)

// A display of other findings, or none, is an error, not a panic.
func TestDisplayOfOtherFindings(t *testing.T) {
	f := &findings.Findings{Excursions: []findings.Excursion{{Frames: []findings.Frame{{Contacts: make([]findings.Contact, 1)}}}}}
	for _, d := range []*display.Display{nil, {}, {Outlines: display.Outlines{Moving: [][][]display.Outline{{}}}},
		{Outlines: display.Outlines{Moving: [][][]display.Outline{{{}}}}}} {
		_, err := (&report.Report{Findings: f, Display: d}).Files(context.Background(), report.Options{})
		require.ErrorIs(t, err, report.ErrDisplay)
	}
	_, err := (&report.Report{}).Files(context.Background(), report.Options{})
	require.ErrorIs(t, err, report.ErrDisplay)
}
