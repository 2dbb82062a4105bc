package report_test

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report"
)

// german is the small catalogue of testdata with the rest in English.
func german(t *testing.T) *language.Language {
	t.Helper()
	entries := regexp.MustCompile(`(?m)^([a-z0-9_.]+) =.*(?:\n[ \t].*)*`)
	read := func(path string) string {
		b, err := os.ReadFile(path)
		require.NoError(t, err)
		return string(b)
	}
	own := read(filepath.Join("testdata", "german.txt"))
	has := map[string]bool{}
	for _, m := range entries.FindAllStringSubmatch(own, -1) {
		has[m[1]] = true
	}
	rest := entries.ReplaceAllStringFunc(read(filepath.Join("..", "language", "english.txt")), func(s string) string {
		if key, _, _ := strings.Cut(s, " ="); has[key] {
			return ""
		}
		return s
	})
	_, err := language.Parse("german.txt", own)
	require.ErrorContains(t, err, "german.txt: no template for ", "half a language is refused")
	l, err := language.Parse("german.txt", own+"\n"+rest)
	require.NoError(t, err)
	return l
}

// A second language is one more file: the summary and the page follow it, with teeth
// in the notation of the case and numbers with the decimal sign of the language.
func TestSecondLanguage(t *testing.T) {
	f := *examined(t, nil)
	write := func() string {
		var b bytes.Buffer
		require.NoError(t, report.WriteSummary(&b, &f, report.TextOptions{Language: german(t)}))
		return strings.Join(strings.Fields(b.String()), " ")
	}
	summary := write()
	for _, s := range []string{
		"Montage Mittelwerte; Bezugspunkte wie angegeben Werte Interkondylarabstand 110 mm; Winkel zur Okklusionsebene; " +
			"Kondylus rechts: Kondylenbahnneigung 33°, Bennett-Winkel 10°; links:",
		"Kontakte innerhalb 8 µm: 11/41, 12/42,",
		"Zahn 16: 0,7 mm Abstand nach 3 mm",
		"Hilfe zur Untersuchung, keine Diagnose",
	} {
		require.Contains(t, summary, s)
	}
	f.Notation = dentition.Universal
	require.Contains(t, write(), "Zahn 3: 0,7 mm Abstand")

	m, err := theReport()
	require.NoError(t, err)
	r := report.Report{Findings: m.findings, Display: m.display, Language: german(t)}
	files, err := r.Files(t.Context(), report.Options{})
	require.NoError(t, err)
	page := string(files[0].Content)
	require.Contains(t, page, `<html lang="de">`)
	require.Contains(t, page, "Kontakte innerhalb 8 µm: ")
	require.Contains(t, page, "Hilfe zur Untersuchung, keine Diagnose")
	require.NotContains(t, page, "An aid to examination")
}
