package report_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"html"
	"image/color"
	"image/png"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testcase"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/report"
	"github.com/stretchr/testify/require"
)

// made is the report of the synthetic case with its findings.
type made struct {
	dir      string // where the case lay
	files    map[string][]byte
	inputs   []string // checksums of its files
	findings *findings.Findings
	display  *display.Display
}

// evilName is a name that a page must not run.
const evilName = `<script>alert(1)</script> "a" & b`

// restored is the teeth that the case wants to restore.
var restored = [...]dentition.ToothID{13, 36}

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
		c.Name, c.Date = evilName, "2026-03-17"
		c.Record = &casefile.Record{
			FoilUm: 8, Notes: evilName,
			Foil:  map[dentition.ToothID]casefile.Hold{16: casefile.Holds, 26: casefile.Passes},
			Marks: casefile.Marks{Right: []casefile.Mark{{Upper: 13, Lower: 43}, {Upper: 14, Lower: 44}}},
		}
		for i := range c.Excursions {
			c.Excursions[i].MaxMM, c.Excursions[i].StepMM = 3, 0.5
		}
		c.Restore = restored[:]
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
	if m.display, err = display.New(ctx, casts, m.findings, display.Options{Workers: workers}); err != nil {
		return m, err
	}
	m.dir = dir
	for _, name := range []string{path, c.Path(c.Upper.Scan), c.Path(c.Upper.Labels), c.Path(c.Lower.Scan), c.Path(c.Lower.Labels)} {
		content, err := os.ReadFile(name)
		if err != nil {
			return m, err
		}
		m.inputs = append(m.inputs, fmt.Sprintf("%x", sha256.Sum256(content)))
	}
	r := report.Report{Findings: m.findings, Display: m.display, Version: "v1"}
	files, err := r.Files(ctx, report.Options{Workers: workers})
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
	require.Contains(t, html, language.Say("caution").String())
	require.Contains(t, html, "Can the mounting be trusted?")
	require.Contains(t, html, `<html lang="en"`)
	for _, s := range []string{"canine guidance in right lateral movement</a> (13/43)", "Comparison with the mouth",
		"Centric stops", "How the posterior teeth disocclude", "Under load", "Condylar inclination"} {
		require.True(t, strings.Contains(html, s), s)
	}
	pictures := regexp.MustCompile(`<img[^>]*>`).FindAllString(html, -1)
	require.NotEmpty(t, pictures)
	for _, p := range pictures {
		require.Regexp(t, `\balt="[^"]{10,}"`, p)
	}
	require.Contains(t, html, "Examined on 2026-03-17")
	require.Contains(t, html, "<p>Date of examination: <b>2026-03-17</b></p>")
	require.NotContains(t, html, ">Doubt<", "nothing was sampled, so there is nothing to say")
	require.Equal(t, 1, strings.Count(html, "<h1"))
}

// What is told of teeth to be restored stands beside the warning that a reduction
// cannot be undone; of heights TestPageWarnsOfHeights tells.
func TestPageWarnsWhereTeethMightBeGround(t *testing.T) {
	html := thePage(t)
	for id, words := range map[string]string{"restore": "tooth reduction cannot be undone", "cautions": "Tooth reduction cannot be undone"} {
		_, section, ok := strings.Cut(html, `<section id="`+id+`"`)
		require.True(t, ok, id)
		section, _, _ = strings.Cut(section, "</section>")
		require.True(t, strings.Contains(section, words), "section %s does not say: %s", id, words)
	}
}

// The page says from which files it was made, and with which command.
func TestPageSaysHowToRepeatIt(t *testing.T) {
	m, err := theReport()
	require.NoError(t, err)
	_, origin, ok := strings.Cut(thePage(t), `<section id="origin"`)
	require.True(t, ok)
	origin, _, _ = strings.Cut(origin, "</section>")
	require.Contains(t, origin, "<code>cusptrace examine case.yaml -o DIR</code>")
	require.Regexp(t, `<p>cusptrace \S+, from the files below`, origin)
	require.Len(t, m.inputs, 5)
	for _, sum := range m.inputs {
		require.Contains(t, origin, sum)
	}
	for _, name := range report.Names(restored[:]) {
		if !strings.HasSuffix(name, ".png") && name != "report.html" {
			require.Contains(t, origin, name)
		}
	}
}

// No file tells where the case lay, which often says whose it is.
func TestReportTellsNoPath(t *testing.T) {
	m, err := theReport()
	require.NoError(t, err)
	for name, content := range m.files {
		require.False(t, bytes.Contains(content, []byte(filepath.Base(m.dir))), name)
	}
	var findings bytes.Buffer
	require.NoError(t, report.WriteJSON(&findings, m.findings))
	require.NotContains(t, findings.String(), filepath.Base(m.dir))
}

// Every picture shows casts, each in its own way.
func TestPicturesShowTheCasts(t *testing.T) {
	m, err := theReport()
	require.NoError(t, err)
	seen, casts := map[string]bool{}, 0
	for name, content := range m.files {
		if !strings.HasSuffix(name, ".png") {
			continue
		}
		require.False(t, seen[string(content)], "%s is like another one", name)
		seen[string(content)] = true
		img, err := png.Decode(bytes.NewReader(content))
		require.NoError(t, err, name)
		b := img.Bounds()
		require.Equal(t, 2400, b.Dx(), name)
		if !strings.HasPrefix(name, "finding-") {
			casts++
		}
		require.Contains(t, string(content[:70]), "pHYs", name)
		ground, colours, drawn := img.At(b.Min.X, b.Min.Y), map[color.Color]bool{}, 0
		const step = 4 // every so many pixels
		for y := b.Min.Y; y < b.Max.Y; y += step {
			for x := b.Min.X; x < b.Max.X; x += step {
				if c := img.At(x, y); c != ground {
					colours[c] = true
					drawn++
				}
			}
		}
		share := float64(step*step*drawn) / float64(b.Dx()*b.Dy())
		t.Logf("%s: %.2f of it drawn, %d colours", name, share, len(colours))
		require.Greater(t, share, 0.05, name)
		require.Greater(t, len(colours), 500, name)
	}
	require.Equal(t, 7, casts)
}

// The page writes teeth in the notation of the case everywhere: in sections that it
// knows and beside the teeth of the pictures.
func TestPageInAnotherNotation(t *testing.T) {
	m, err := theReport()
	require.NoError(t, err)
	f := *m.findings
	f.Notation = dentition.Quadrant
	r := report.Report{Findings: &f, Display: m.display}
	files, err := r.Files(context.Background(), report.Options{})
	require.NoError(t, err)
	shown := ""
	for _, x := range files {
		switch {
		case x.Name == "report.html":
			shown = html.UnescapeString(regexp.MustCompile(`(?s)<(script|style|svg)\b.*?</(script|style|svg)>|<[^>]*>`).ReplaceAllString(string(x.Content), " "))
		case x.Name == "picture-upper.png":
			require.False(t, bytes.Equal(x.Content, m.files[x.Name]))
		}
	}
	for _, s := range []findings.Sentence{f.Record.Text, f.Centric.StopsText, f.Restore[0].Text, f.Restore[0].Avoid[0].Why} {
		require.NotEqual(t, s.String(), s.In(f.Notation))
		require.Contains(t, shown, s.In(f.Notation))
		require.NotContains(t, shown, s.String())
	}
	require.NotRegexp(t, `\b[1-4][1-8]/[1-4][1-8]\b`, shown)
}

func TestPageAndPicturesOnAnyCores(t *testing.T) {
	again, err := makeReport(3)
	require.NoError(t, err)
	if testing.Short() {
		return // the race detector has seen it, and pictures take it minutes
	}
	all, err := theReport()
	require.NoError(t, err)
	one, two := all.files, again.files
	names := slices.Sorted(maps.Keys(one))
	require.Equal(t, names, slices.Sorted(maps.Keys(two)))
	fixed := slices.DeleteFunc(slices.Clone(names), func(n string) bool { return strings.HasPrefix(n, "finding-") })
	require.ElementsMatch(t, fixed, report.Names(restored[:]), "and pictures of findings, which have their names")
	for _, name := range names {
		require.True(t, bytes.Equal(one[name], two[name]), name)
		if strings.HasSuffix(name, ".png") {
			_, err := png.Decode(bytes.NewReader(one[name]))
			require.NoError(t, err, name)
		}
	}
}
