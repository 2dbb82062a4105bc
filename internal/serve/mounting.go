package serve

import (
	"context"
	"errors"
	"fmt"
	"math"
	"net/url"
	"os"
	"strconv"
	"strings"
	"unicode"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/articulate"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/settle"
)

// The ways of mounting that the page offers; a case that came with a matrix keeps it.
const (
	byAverage  = "average"
	byRecorded = "recorded"
	byMatrix   = "matrix"
)

// wayOf is how a case is mounted.
func wayOf(c *casefile.Case) string {
	switch {
	case c.Mount.Recorded != nil:
		return byRecorded
	case c.Mount.Matrix != nil:
		return byMatrix
	}
	return byAverage
}

// number is a field of the form that holds a number of the case.
type number struct {
	name string
	of   func(*casefile.Case) *float64
}

// numbers are the numbers of mounting and settings that the page shows, in its order.
var numbers = []number{
	{"condyle_to_incisal", func(c *casefile.Case) *float64 { return &c.Mount.Average.CondyleToIncisalMM }},
	{"balkwill", func(c *casefile.Case) *float64 { return &c.Mount.Average.BalkwillDeg }},
	{"plane_tilt", func(c *casefile.Case) *float64 { return &c.Mount.Average.PlaneTiltDeg }},
	{"intercondylar", func(c *casefile.Case) *float64 { return &c.Settings.IntercondylarMM }},
	{"inclination_right", func(c *casefile.Case) *float64 { return &c.Settings.Right.CondylarInclinationDeg }},
	{"inclination_left", func(c *casefile.Case) *float64 { return &c.Settings.Left.CondylarInclinationDeg }},
	{"shift_angle_right", func(c *casefile.Case) *float64 { return &c.Settings.Right.SideShiftAngleDeg }},
	{"shift_angle_left", func(c *casefile.Case) *float64 { return &c.Settings.Left.SideShiftAngleDeg }},
	{"shift_right", func(c *casefile.Case) *float64 { return &c.Settings.Right.ImmediateSideShiftMM }},
	{"shift_left", func(c *casefile.Case) *float64 { return &c.Settings.Left.ImmediateSideShiftMM }},
}

// fits reports whether a number belongs to the way in which a case is mounted.
func (n *number) fits(c *casefile.Case) bool {
	switch n.name {
	case "condyle_to_incisal", "balkwill", "plane_tilt":
		return c.Mount.Average != nil
	case "intercondylar":
		return c.Mount.Recorded == nil // which has its own
	}
	return true
}

// enterMounting takes over mounting and settings from the fields of a form; those that are not there stay
// as they are.
func (x *session) enterMounting(c *casefile.Case, form url.Values) error {
	way := wayOf(c)
	if w := form.Get("mount"); w != "" && w != way {
		if way == byAverage {
			x.average, x.apartMM = c.Mount.Average, c.Settings.IntercondylarMM
		}
		switch {
		case w == byAverage && x.average != nil:
			c.Mount, c.Settings.IntercondylarMM = casefile.Mount{Average: x.average}, x.apartMM
		case w == byAverage:
			c.Mount = casefile.Default().Mount
		case w == byRecorded:
			c.Mount = casefile.Mount{Recorded: &casefile.Recorded{}}
		}
		return nil // its fields are not those of the form
	}
	if c.Mount.Average != nil {
		a := *c.Mount.Average
		c.Mount.Average = &a
		if err := x.enterPoints(&a, form); err != nil {
			return err
		}
	}
	if c.Mount.Recorded != nil {
		r := *c.Mount.Recorded
		c.Mount.Recorded = &r
		for _, p := range []struct {
			name string
			to   *casefile.Point
		}{{"at-right_condyle", &r.RightCondyle}, {"at-left_condyle", &r.LeftCondyle}, {"at-reference", &r.ReferencePoint}} {
			if at, err := x.parsePoint(form.Get(p.name)); err != nil {
				return err
			} else if at != nil {
				*p.to = *at
			}
		}
	}
	for _, n := range numbers {
		text := strings.TrimSpace(form.Get(n.name))
		if text == "" || !n.fits(c) {
			continue
		}
		v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return x.sentence("serve.number.wrong", language.With{"what": language.Say("serve.set." + n.name), "found": text})
		}
		*n.of(c) = v
	}
	if p := casefile.Plane(form.Get("reference_plane")); p != "" {
		c.Settings.ReferencePlane = p
	}
	return nil
}

// enterPoints takes over the three points of an average mounting. Where they are those that were found,
// the case does not name them.
func (x *session) enterPoints(a *casefile.Average, form url.Values) error {
	var at [3]*casefile.Point
	given := 0
	for i, name := range mountingFields {
		p, err := x.parsePoint(form.Get(name))
		if err != nil {
			return err
		}
		if at[i] = p; p != nil {
			given++
		}
	}
	found := x.foundPoints()
	switch {
	case given == 0 && !form.Has(mountingFields[0]):
	case given == 0, given == 3 && found != nil && samePoint(at[0], found[0]) && samePoint(at[1], found[1]) && samePoint(at[2], found[2]):
		a.IncisalPoint, a.RightMolar, a.LeftMolar = nil, nil, nil
	case given < 3:
		return x.sentence("serve.points.three", nil)
	default:
		a.IncisalPoint, a.RightMolar, a.LeftMolar = at[0], at[1], at[2]
	}
	return nil
}

var mountingFields = [3]string{"at-incisal", "at-right", "at-left"}

// samePoint compares as the page writes.
func samePoint(a *casefile.Point, b casefile.Point) bool { return writePoint(a) == writePoint(&b) }

// writePoint is a point as the page writes it: to a hundredth of a millimetre.
func writePoint(p *casefile.Point) string {
	if p == nil {
		return ""
	}
	return fmt.Sprintf("%.2f, %.2f, %.2f", p[0], p[1], p[2])
}

// parsePoint reads three numbers; nil where there are none.
func (x *session) parsePoint(s string) (*casefile.Point, error) {
	list := strings.FieldsFunc(s, func(r rune) bool { return r == ',' || r == ';' || unicode.IsSpace(r) })
	if len(list) == 0 {
		return nil, nil
	}
	var p casefile.Point
	for i := range p {
		var err error
		if len(list) == 3 {
			p[i], err = strconv.ParseFloat(list[i], 64)
		}
		if err != nil || len(list) != 3 || math.IsNaN(p[i]) || math.IsInf(p[i], 0) {
			return nil, x.sentence("serve.point.wrong", language.With{"found": s})
		}
	}
	return &p, nil
}

// sentence is a mistake in words.
func (x *session) sentence(key string, with language.With) error {
	if with == nil {
		with = language.With{}
	}
	return errors.New(x.o.Language.Write(language.Say(key, with), x.c.Notation))
}

// foundPoints are the three points of an average mounting where they were found on the teeth.
func (x *session) foundPoints() *[3]casefile.Point {
	if len(x.scans) < 2 {
		return nil
	}
	return x.scans[1].points
}

// findPoints looks for the points of an average mounting on the lower arch; nil where there are none.
func findPoints(m *mesh.Mesh, l *dentition.Labels) *[3]casefile.Point {
	if l == nil || l.Jaw() != dentition.Lower {
		return nil
	}
	p, err := anatomy.MountingPoints(m, l)
	if err != nil {
		return nil
	}
	return &[3]casefile.Point{{p.IncisalPoint.X, p.IncisalPoint.Y, p.IncisalPoint.Z},
		{p.RightMolar.X, p.RightMolar.Y, p.RightMolar.Z}, {p.LeftMolar.X, p.LeftMolar.Y, p.LeftMolar.Z}}
}

// mostPairs is how many pairs of points the page takes.
const mostPairs = 4

// enterPairs reads the pairs of points at which loose arches meet.
func (x *session) enterPairs(form url.Values) error {
	if !form.Has("pair-upper-1") {
		return nil
	}
	var pairs [][2]casefile.Point
	for i := range mostPairs {
		var pair [2]casefile.Point
		given := 0
		for k, jaw := range jaws {
			p, err := x.parsePoint(form.Get(fmt.Sprintf("pair-%v-%d", jaw, i+1)))
			if err != nil {
				return err
			}
			if p != nil {
				pair[k] = *p
				given++
			}
		}
		if given == 2 {
			pairs = append(pairs, pair)
		}
	}
	x.pairs = pairs
	return nil
}

// loose is what arches were before they were put together.
type loose struct {
	scans [2]scan
	undo  []int
	c     *casefile.Case
}

// putTogether puts loose arches together as cusptrace articulate does. The caller holds mu.
func (x *session) putTogether() {
	before := loose{scans: [2]scan{*x.scans[0], *x.scans[1]}, undo: x.undo, c: x.c}
	after := *x.c
	o := articulate.Options{Workers: x.o.Workers}
	for _, p := range x.pairs {
		o.Points = append(o.Points, articulate.PointPair{Upper: p[0].Vec(), Lower: p[1].Vec()})
	}
	text, err := x.caseText()
	if err != nil {
		x.problem = x.words(err)
		return
	}
	x.start(language.Say("serve.working.together"), func(ctx context.Context) (func(), error) {
		scans, said, err := x.articulate(ctx, before.scans, &after, text, o)
		if err != nil {
			return nil, err
		}
		return func() {
			*x.scans[0], *x.scans[1] = scans[0], scans[1]
			x.loose, x.fit, x.c, x.undo = &before, said, &after, nil
		}, nil
	})
}

// articulate moves the lower scan to the upper one and enters in the case what comes of it.
func (x *session) articulate(ctx context.Context, scans [2]scan, into *casefile.Case, text []byte,
	o articulate.Options) ([2]scan, []string, error) {
	c, _, err := casefile.Parse(caseName, text)
	if err != nil {
		return scans, nil, err
	}
	c.Dir = x.files.dir
	upper, lower, err := occlusion.Load(ctx, c)
	if err != nil {
		return scans, nil, err
	}
	if err := occlusion.FindTeeth(ctx, upper, lower); err != nil {
		return scans, nil, err
	}
	a, err := articulate.Articulate(ctx, upper, lower, o)
	if errors.Is(err, articulate.ErrNoFit) || errors.Is(err, settle.ErrArch) {
		return scans, nil, x.sentence("serve.together.none", language.With{"why": err.Error()})
	} else if err != nil {
		return scans, nil, err
	}
	moved, err := articulate.Moved(lower.Mesh, a, c.Units)
	if err != nil {
		return scans, nil, err
	}
	articulate.Enter(into, a)
	const file = "together-lower.ply"
	err = x.files.write(func() error { return meshfile.WriteFile(x.files.path(file), moved, nil) })
	if err != nil {
		return scans, nil, err
	}
	scans[1].file = file
	for i, s := range []*dentition.Labels{upper.Labels, lower.Labels} {
		if s == nil {
			continue
		}
		var b strings.Builder
		if err := s.Write(&b); err != nil {
			return scans, nil, err
		}
		scans[i].labels, scans[i].given = "together-"+jaws[i].String()+".labels.json", true
		scans[i].corrections = nil
		if err := x.files.store(scans[i].labels, strings.NewReader(b.String())); err != nil {
			return scans, nil, err
		}
	}
	m, err := x.read(ctx, file, c.Units)
	if err != nil {
		return scans, nil, err
	}
	if err := x.findTeeth(ctx, &scans[1], m, dentition.Lower); err != nil {
		return scans, nil, err
	}
	return scans, append([]string{a.FitText, a.RelationText, a.ErrorText, a.SeatText}, a.Notes...), nil
}

// takeApart brings back the arches as they came. The caller holds mu.
func (x *session) takeApart() {
	if x.loose == nil {
		return
	}
	before := x.loose
	for i := range x.scans {
		*x.scans[i] = before.scans[i]
	}
	x.undo, x.loose, x.fit = before.undo, nil, nil
	c := *x.c
	c.Mount, c.Settle = before.c.Mount, before.c.Settle
	x.c = &c
	_ = os.Remove(x.files.path("together-lower.ply")) // the folder goes in the end
}
