package report_test

import (
	"bytes"
	"context"
	"image/png"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/testcase"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/report"
)

// lastFindings are those of the last report that pageOf made.
var lastFindings *occlusion.Findings

// pageOf makes the report of the synthetic case.
func pageOf(t *testing.T, workers int, edit func(*casefile.Case)) map[string][]byte {
	t.Helper()
	ctx := context.Background()
	path, err := testcase.New(8).Write(t.TempDir(), func(c *casefile.Case) {
		for i := range c.Excursions {
			c.Excursions[i].MaxMM, c.Excursions[i].StepMM = 3, 0.5
		}
		if edit != nil {
			edit(c)
		}
	})
	require.NoError(t, err)
	c, _, err := casefile.Read(path)
	require.NoError(t, err)
	upper, lower, err := occlusion.Load(ctx, c)
	require.NoError(t, err)
	casts, err := occlusion.Assemble(ctx, c, upper, lower)
	require.NoError(t, err)
	f, err := occlusion.Examine(ctx, c, casts, occlusion.Options{AsSet: true})
	require.NoError(t, err)
	d, err := occlusion.NewDisplay(ctx, casts, f, workers)
	require.NoError(t, err)
	o, err := report.NewOrigin(path, c)
	require.NoError(t, err)
	r := report.Report{Findings: f, Display: d, Origin: o}
	files, err := r.Files(ctx, workers)
	require.NoError(t, err)
	lastFindings = f
	out := map[string][]byte{}
	for _, x := range files {
		out[x.Name] = x.Content
	}
	return out
}

// The page stands alone: nothing in it is fetched from anywhere.
func TestPageLoadsNothing(t *testing.T) {
	html := string(pageOf(t, 0, nil)["report.html"])
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
	const name = `<script>alert(1)</script> "a" & b`
	html := string(pageOf(t, 0, func(c *casefile.Case) { c.Name = name })["report.html"])
	require.NotContains(t, html, "<script>alert")
	require.Contains(t, html, "&lt;script&gt;alert(1)&lt;/script&gt;")
	require.Regexp(t, `<title>[^<]*&lt;script&gt;`, html)
}

// The page says what matters and is made for readers with and without eyes.
func TestPageSaysWhatMatters(t *testing.T) {
	html := string(pageOf(t, 0, nil)["report.html"])
	require.Contains(t, html, report.Caution)
	require.Contains(t, html, "Can the mounting be trusted?")
	require.Contains(t, html, `<html lang="en"`)
	require.Contains(t, html, "canine guidance at 1 mm")
	pictures := regexp.MustCompile(`<img[^>]*>`).FindAllString(html, -1)
	require.NotEmpty(t, pictures)
	for _, p := range pictures {
		require.Regexp(t, `\balt="[^"]{10,}"`, p)
	}
	require.Equal(t, 1, strings.Count(html, "<h1"))
	require.Regexp(t, `[0-9a-f]{64}`, html, "the checksum of an input")
}

func TestPageAndPicturesOnAnyCores(t *testing.T) {
	one, two := pageOf(t, 1, nil), pageOf(t, 3, nil)
	require.Len(t, one, len(report.Names()))
	for _, name := range report.Names() {
		require.True(t, bytes.Equal(one[name], two[name]), name)
		if strings.HasSuffix(name, ".png") {
			_, err := png.Decode(bytes.NewReader(one[name]))
			require.NoError(t, err, name)
		}
	}
}
