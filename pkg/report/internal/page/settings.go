package page

import (
	"fmt"
	"reflect"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// settingsParts tell with what the casts were examined, and what is known of
// them.
func settingsParts(f *findings.Findings) []facts {
	s := &f.Settings
	articulator := facts{Title: "Articulator", Facts: []fact{
		{"Mounted by", words.Mounting(f)},
		{"Intercondylar distance", fmt.Sprintf("%.4g\u00a0mm", s.IntercondylarMM)},
		{"Settings are to the", strings.ReplaceAll(string(s.ReferencePlane), "_", "-") + " plane"},
		{"Closing is limited by", guidanceWords(&s.Guidance)},
	}}
	sides := factTable{Title: "Condyles", Head: []string{"", "Right", "Left"}}
	add := func(label string, of func(*casefile.Side) string) {
		sides.Rows = append(sides.Rows, []string{label, of(&s.Right), of(&s.Left)})
	}
	add("Condylar inclination", func(c *casefile.Side) string { return quantity(c.CondylarInclinationDeg, "°") })
	add("Side shift angle", func(c *casefile.Side) string {
		if c.SideShiftAngleFrom != "" {
			return quantity(c.SideShiftAngleDeg, "°") + " (from the inclination)"
		}
		return quantity(c.SideShiftAngleDeg, "°")
	})
	add("Immediate side shift", func(c *casefile.Side) string { return quantity(c.ImmediateSideShiftMM, "mm") })
	add("Immediate side shift, reached over", func(c *casefile.Side) string { return quantity(c.SideShiftTravelMM, "mm") })
	add("Laterotrusion, backwards", func(c *casefile.Side) string { return quantity(c.LaterotrusionBackDeg, "°") })
	add("Laterotrusion, upwards", func(c *casefile.Side) string { return quantity(c.LaterotrusionUpDeg, "°") })
	add("Path", pathWords)
	articulator.Tables = append(articulator.Tables, sides)

	relation := facts{Title: "Relation of the casts", Text: f.Settling.Text.In(f.Notation), Facts: []fact{{"As examined", words.Relation(f)}, {"Overlap as given", quantity(f.Settling.OverlapBeforeUm, "µm")}}}
	if r := f.Settling.Rest; r != nil && len(r.Play) > 0 {
		t := factTable{Title: "How far the casts give way where they lie locked", Head: []string{"Push", "Way"}}
		for _, p := range r.Play {
			t.Rows = append(t.Rows, []string{p.Direction, quantity(p.Um, "µm")})
		}
		relation.Tables = append(relation.Tables, t)
	}

	judging := facts{Title: "Borders"}
	t := factTable{Title: "Borders by which this report judges", Head: []string{"What", "Value"}}
	v := reflect.ValueOf(f.Thresholds)
	for i := range v.NumField() {
		field := v.Type().Field(i)
		key, _, _ := strings.Cut(field.Tag.Get("json"), ",")
		_, unit := label(key)
		what, _, _ := strings.Cut(field.Tag.Get("jsonschema_description"), " (")
		t.Rows = append(t.Rows, []string{strings.ToUpper(what[:1]) + what[1:], quantity(v.Field(i).Float(), unit)})
	}
	judging.Tables = append(judging.Tables, t)

	scans := factTable{Title: "Scans as read", Head: []string{"", "Upper", "Lower"}}
	up, lo := &f.Scans.Upper, &f.Scans.Lower
	for _, r := range []struct {
		label  string
		up, lo int
	}{
		{"Triangles", up.Triangles, lo.Triangles}, {"Vertices, welded", up.Vertices, lo.Vertices}, {"Parts", up.Components, lo.Components}, {"Borders", up.BoundaryLoops, lo.BoundaryLoops},
		{"Edges of more than two triangles", up.NonManifoldEdges, lo.NonManifoldEdges}, {"Edges oriented against each other", up.InconsistentEdges, lo.InconsistentEdges},
		{"Triangles twice", up.DuplicateTriangles, lo.DuplicateTriangles}, {"Triangles without area", up.DegenerateTriangles, lo.DegenerateTriangles}, {"Labelled teeth", len(up.Teeth), len(lo.Teeth)},
	} {
		scans.Rows = append(scans.Rows, []string{r.label, fmt.Sprint(r.up), fmt.Sprint(r.lo)})
	}
	return []facts{articulator, relation, judging, {Title: "Scans", Facts: []fact{{"Teeth are named by", words.CodeWords(f.Notation)}}, Tables: []factTable{scans}}}
}

func guidanceWords(g *casefile.Guidance) string {
	switch g.By {
	case casefile.ByTable:
		return fmt.Sprintf("an incisal table of %g°, wings %g°, pin raised by %g mm", g.InclinationDeg, g.WingsDeg, g.PinMM)
	case casefile.ByTeeth:
		return "the teeth"
	}
	return fmt.Sprintf("a fixed opening of %g°", g.OpeningDeg)
}

func pathWords(c *casefile.Side) string {
	switch p := c.Path; {
	case p == nil:
		return "straight"
	case len(p.PointsMM) > 0:
		return fmt.Sprintf("recorded, %d points", len(p.PointsMM))
	default:
		return fmt.Sprintf("arc of %g mm", p.ArcRadiusMM)
	}
}
