package report_test

import (
	"bytes"
	"context"
	"errors"
	"image/png"
	"os"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/testcase"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/report"
)

// made is the report of the synthetic case with its findings.
type made struct {
	files    map[string][]byte
	findings *occlusion.Findings
}

// evilName is a name that a page must not run.
const evilName = `<script>alert(1)</script> "a" & b`

// theReport is made once: the synthetic case with an evil name and a record.
var theReport = sync.OnceValues(func() (made, error) { return makeReport(0) })

// makeReport makes it on a number of processors.
func makeReport(workers int) (m made, err error) {
	ctx := context.Background()
	dir, err := os.MkdirTemp("", "cusptrace-report-")
	if err != nil {
		return m, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	path, err := testcase.New(8).Write(dir, func(c *casefile.Case) {
		c.Name = evilName
		c.Record = &casefile.Record{
			FoilUm: 8, Notes: evilName,
			Foil:  map[dentition.ToothID]casefile.Hold{16: casefile.Holds, 26: casefile.Passes},
			Marks: casefile.Marks{Right: []casefile.Mark{{Upper: 13, Lower: 43}, {Upper: 14, Lower: 44}}},
		}
		for i := range c.Excursions {
			c.Excursions[i].MaxMM, c.Excursions[i].StepMM = 3, 0.5
		}
	})
	if err != nil {
		return m, err
	}
	c, _, err := casefile.Read(path)
	if err != nil {
		return m, err
	}
	upper, lower, err := occlusion.Load(ctx, c)
	if err != nil {
		return m, err
	}
	casts, err := occlusion.Assemble(ctx, c, upper, lower)
	if err != nil {
		return m, err
	}
	if m.findings, err = occlusion.Examine(ctx, c, casts, occlusion.Options{Workers: workers, AsSet: true}); err != nil {
		return m, err
	}
	d, err := occlusion.NewDisplay(ctx, casts, m.findings, workers)
	if err != nil {
		return m, err
	}
	o, err := report.NewOrigin(path, c)
	if err != nil {
		return m, err
	}
	r := report.Report{Findings: m.findings, Display: d, Origin: o}
	files, err := r.Files(ctx, workers)
	m.files = map[string][]byte{}
	for _, x := range files {
		m.files[x.Name] = x.Content
	}
	return m, err
}

// thePage is the page of the report.
func thePage(t *testing.T) string {
	t.Helper()
	m, err := theReport()
	require.NoError(t, err)
	return string(m.files["report.html"])
}

// The page stands alone: nothing in it is fetched from anywhere.
func TestPageLoadsNothing(t *testing.T) {
	html := thePage(t)
	// What the built view does when it runs, TestPageInBrowser watches.
	html = regexp.MustCompile(`(?s)<script>.*?</script>`).ReplaceAllString(html, "")
	for _, m := range regexp.MustCompile(`(?i)\b(?:src|href|action|poster|data)\s*=\s*["']?([^"'\s>]*)|url\(\s*["']?([^"')]*)|@import\s+([^;]*)`).FindAllStringSubmatch(html, -1) {
		target := m[1] + m[2] + m[3]
		require.True(t, target == "" || strings.HasPrefix(target, "#") || strings.HasPrefix(target, "data:"), "the page refers to %.80s", target)
	}
	require.NotRegexp(t, `(?i)<(iframe|object|embed|base)\b`, html)
	require.Less(t, len(html), 15<<20)
}

// What the case says comes out as text, whatever it is.
func TestPageEscapesWhatTheCaseSays(t *testing.T) {
	html := thePage(t)
	require.NotContains(t, html, "<script>alert")
	require.Contains(t, html, "&lt;script&gt;alert(1)&lt;/script&gt;")
	require.Regexp(t, `<title>[^<]*&lt;script&gt;`, html)
}

// The page says what matters and is made for readers with and without eyes.
func TestPageSaysWhatMatters(t *testing.T) {
	html := thePage(t)
	require.Contains(t, html, report.Caution)
	require.Contains(t, html, "Can the mounting be trusted?")
	require.Contains(t, html, `<html lang="en"`)
	for _, s := range []string{"canine guidance at 1 mm", "Comparison with the mouth", "Where the stops lie", "How the back teeth come clear", "Under load", "Condylar inclination"} {
		require.True(t, strings.Contains(html, s), s)
	}
	pictures := regexp.MustCompile(`<img[^>]*>`).FindAllString(html, -1)
	require.NotEmpty(t, pictures)
	for _, p := range pictures {
		require.Regexp(t, `\balt="[^"]{10,}"`, p)
	}
	require.Equal(t, 1, strings.Count(html, "<h1"))
	require.Regexp(t, `[0-9a-f]{64}`, html, "the checksum of an input")
}

func TestPageAndPicturesOnAnyCores(t *testing.T) {
	all, err := theReport()
	require.NoError(t, err)
	again, err := makeReport(3)
	require.NoError(t, err)
	one, two := all.files, again.files
	require.Len(t, one, len(report.Names(nil)))
	for _, name := range report.Names(nil) {
		require.True(t, bytes.Equal(one[name], two[name]), name)
		if strings.HasSuffix(name, ".png") {
			_, err := png.Decode(bytes.NewReader(one[name]))
			require.NoError(t, err, name)
		}
	}
}
