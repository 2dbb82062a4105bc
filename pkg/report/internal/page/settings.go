package page

import (
	"fmt"
	"reflect"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// settingsParts tell with what the casts were examined, and what is known of
// them.
func settingsParts(r words.Reader, f *findings.Findings) []facts {
	return []facts{articulatorPart(r, f), relationPart(r, f), thresholdsPart(r, &f.Thresholds), scansPart(r, f)}
}

func articulatorPart(r words.Reader, f *findings.Findings) facts {
	s := &f.Settings
	out := facts{Title: r.Say("articulator.title"), Facts: []fact{
		{r.Say("page.mounted"), r.Write(words.Mounting(f))},
		{r.Say("articulator.distance"), fmt.Sprintf("%.4g\u00a0mm", s.IntercondylarMM)},
		{r.Say("articulator.plane"), r.Say("articulator.plane.name", language.With{"plane": language.Say("plane." + string(s.ReferencePlane))})},
		{r.Say("articulator.guidance"), r.Write(guidance(&s.Guidance))},
	}}
	t := newTable(r, "articulator.condyles", "", "side.right", "side.left")
	add := func(key string, of func(*casefile.Side) language.Quantity) {
		t.Rows = append(t.Rows, []string{r.Say(key), r.Language.Quantity(of(&s.Right)), r.Language.Quantity(of(&s.Left))})
	}
	add("articulator.inclination", func(c *casefile.Side) language.Quantity { return language.Deg(c.CondylarInclinationDeg) })
	angle := func(c *casefile.Side) string {
		if c.SideShiftAngleFrom != "" {
			return r.Say("articulator.angle.from", language.With{"angle": language.Deg(c.SideShiftAngleDeg)})
		}
		return quantity(r, c.SideShiftAngleDeg, "°")
	}
	t.Rows = append(t.Rows, []string{r.Say("articulator.angle"), angle(&s.Right), angle(&s.Left)})
	add("articulator.shift", func(c *casefile.Side) language.Quantity { return language.MM(c.ImmediateSideShiftMM) })
	add("articulator.shift.over", func(c *casefile.Side) language.Quantity { return language.MM(c.SideShiftTravelMM) })
	add("articulator.back", func(c *casefile.Side) language.Quantity { return language.Deg(c.LaterotrusionBackDeg) })
	add("articulator.up", func(c *casefile.Side) language.Quantity { return language.Deg(c.LaterotrusionUpDeg) })
	t.Rows = append(t.Rows, []string{r.Say("articulator.path"), r.Write(path(&s.Right)), r.Write(path(&s.Left))})
	out.Tables = append(out.Tables, t)
	return out
}

func relationPart(r words.Reader, f *findings.Findings) facts {
	out := facts{Title: r.Say("relation.title"), Text: r.Write(f.Settling.Text), Facts: []fact{
		{r.Say("relation.examined"), r.Write(words.Relation(f))}, {r.Say("relation.given"), quantity(r, f.Settling.OverlapBeforeUm, "µm")},
	}}
	if seat := f.Settling.Seat; seat != nil && len(seat.Play) > 0 {
		t := newTable(r, "relation.play", "relation.push", "relation.give")
		for _, p := range seat.Play {
			t.Rows = append(t.Rows, []string{r.Write(p.Name()), quantity(r, p.Um, "µm")})
		}
		out.Tables = append(out.Tables, t)
	}
	return out
}

// thresholdsPart lists the thresholds by the keys of the case file.
func thresholdsPart(r words.Reader, th *casefile.Thresholds) facts {
	t := newTable(r, "threshold.table", "threshold.what", "threshold.value")
	v := reflect.ValueOf(th).Elem()
	for i := range v.NumField() {
		key, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
		_, unit := label(key)
		t.Rows = append(t.Rows, []string{r.Say("threshold." + key), quantity(r, v.Field(i).Float(), unit)})
	}
	return facts{Title: r.Say("threshold.title"), Tables: []factTable{t}}
}

func scansPart(r words.Reader, f *findings.Findings) facts {
	t := newTable(r, "scans.table", "", "jaw.upper", "jaw.lower")
	up, lo := &f.Scans.Upper, &f.Scans.Lower
	for _, row := range []struct {
		key    string
		up, lo int
	}{
		{"scans.triangles", up.Triangles, lo.Triangles}, {"scans.vertices", up.Vertices, lo.Vertices},
		{"scans.parts", up.Components, lo.Components},
		{"scans.boundaries", up.BoundaryLoops, lo.BoundaryLoops}, {"scans.edges", up.NonManifoldEdges, lo.NonManifoldEdges},
		{"scans.inconsistent", up.InconsistentEdges, lo.InconsistentEdges}, {"scans.duplicate", up.DuplicateTriangles, lo.DuplicateTriangles},
		{"scans.degenerate", up.DegenerateTriangles, lo.DegenerateTriangles}, {"scans.teeth", len(up.Teeth), len(lo.Teeth)},
	} {
		t.Rows = append(t.Rows, []string{r.Say(row.key), fmt.Sprint(row.up), fmt.Sprint(row.lo)})
	}
	return facts{Title: r.Say("scans.title"),
		Facts: []fact{{r.Say("scans.notation"), r.Write(words.Notation(f.Notation))}}, Tables: []factTable{t}}
}

// guidance says what limits the closing.
func guidance(g *casefile.Guidance) language.Sentence {
	switch g.By {
	case casefile.ByTable:
		return language.Say("articulator.by.table", language.With{"inclination": g.InclinationDeg, "wings": g.WingsDeg, "pin": g.PinMM})
	case casefile.ByTeeth:
		return language.Say("articulator.by.teeth")
	}
	return language.Say("articulator.by.opening", language.With{"opening": g.OpeningDeg})
}

// path says which path a condyle takes.
func path(c *casefile.Side) language.Sentence {
	switch p := c.Path; {
	case p == nil:
		return language.Say("articulator.path.straight")
	case len(p.PointsMM) > 0:
		return language.Say("articulator.path.recorded", language.With{"points": len(p.PointsMM)})
	default:
		return language.Say("articulator.path.arc", language.With{"radius": p.ArcRadiusMM})
	}
}
