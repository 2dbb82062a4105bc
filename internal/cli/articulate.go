package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/cusptrace/cusptrace/internal/atomicfile"
	"github.com/cusptrace/cusptrace/pkg/articulate"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/report"
	"github.com/cusptrace/cusptrace/pkg/settle"
	"github.com/spf13/cobra"
)

// handWork is what the articulate command is asked to do.
type handWork struct {
	upper, lower             string
	upperLabels, lowerLabels string
	unit                     mesh.Unit
	out                      string
	points, teeth            []string
	place                    int
	options                  articulate.Options
}

// hints reads what a person says about where the arches meet.
func (w *handWork) hints() error {
	if w.place < 0 {
		return fmt.Errorf("--place: found %d, must be 1 or more", w.place)
	}
	w.options.Place, w.options.Anyway = max(0, w.place-1), w.place > 0
	for _, s := range w.points {
		p, err := parsePointPair(s, w.unit.MM())
		if err != nil {
			return fmt.Errorf("--points: %w", err)
		}
		w.options.Points = append(w.options.Points, p)
	}
	for _, s := range w.teeth {
		p, err := parseToothPair(s)
		if err != nil {
			return fmt.Errorf("--teeth: %w", err)
		}
		w.options.Teeth = append(w.options.Teeth, p)
	}
	return nil
}

func newArticulate(g *gate) *cobra.Command {
	var w handWork
	var unit string
	c := &cobra.Command{
		Use:   "articulate UPPER LOWER -o CASE",
		Short: "Put two arches together by hand and write a case file",
		Long: `articulate takes an upper and a lower arch, each in a frame of its own, finds how
they fit together from their shape and their teeth, and writes a case file with
default settings, ready to examine. The moved lower scan is written beside it, as
CASE without its ending plus -lower.ply, and labels where teeth were found.

It prints
  Fit       over what area the arches come close in the best place, and how far
            that is ahead of the best place in another relation
  Relation  what was written: where the arches lock or, where single high spots
            would hold them off, the best fit over all teeth that come close
  Error     how far that may be off at the incisors and at the molars
  Seat      on what the arches lock when they are pressed together
  Note      what is worth a second look

Arches that fit nowhere better than those of two persons may, or as well in two
relations, are not put together. What helps then:
  --upper-labels, --lower-labels   the teeth, where they were not found rightly
  --teeth 16=46                    an upper and a lower tooth that meet
  --points 1,2,3=4,5,6             a point of each scan, in its own frame, that touch
  --as-placed                      the scans lie about right already
  --place 2                        take the second of the places that were found`,
		Example: `  cusptrace articulate --units mm upper.stl lower.stl -o case.yaml
  cusptrace articulate --units mm upper.stl lower.stl --teeth 13=43 --teeth 26=36 -o case.yaml`,
		Args: func(_ *cobra.Command, args []string) (err error) {
			switch {
			case len(args) != 2:
				return errors.New("which arches? give the upper scan and then the lower one")
			case w.out == "":
				return errors.New("where should the case go? give a file with -o CASE")
			case unit == "":
				return errors.New("scan files do not say their unit: give it with --units mm (or cm, m, inch, um)")
			}
			if w.unit, err = mesh.ParseUnit(unit); err != nil {
				return fmt.Errorf("--units: %w", err)
			}
			w.upper, w.lower = args[0], args[1]
			return w.hints()
		},
		RunE: func(c *cobra.Command, _ []string) error {
			return putTogether(c.Context(), g, w, c.OutOrStdout())
		},
	}
	f := c.Flags()
	f.StringVarP(&w.out, "output", "o", "", "case `file` to write (required)")
	f.StringVar(&unit, "units", "", "`unit` of the files: mm, cm, m, inch or um (required)")
	f.StringVar(&w.upperLabels, "upper-labels", "", "tooth labels `file` of the upper arch, used for the fit and the case")
	f.StringVar(&w.lowerLabels, "lower-labels", "", "tooth labels `file` of the lower arch, used for the fit and the case")
	f.StringArrayVar(&w.teeth, "teeth", nil, "`UPPER=LOWER`: two teeth that meet, such as 16=46; may be given again")
	f.StringArrayVar(&w.points, "points", nil, "`x,y,z=x,y,z`: a point of the upper and one of the lower scan that touch; may be given again")
	f.BoolVar(&w.options.AsPlaced, "as-placed", false, "the scans lie about right already, within 2 mm and 4°")
	f.IntVar(&w.place, "place", 0, "take this `number` of the places found, 1 for the best, without asking whether it is good enough")
	f.IntVar(&w.options.Workers, "workers", 0, "`number` of processors to use, 0 for all; it never changes the results")
	return c
}

// load reads the two scans with their labels and finds the teeth of those without.
func (w *handWork) load(ctx context.Context) (upper, lower *casts.Scan, err error) {
	c := casefile.Default()
	c.Units = w.unit
	c.Upper = casefile.Arch{Scan: w.upper, Labels: w.upperLabels}
	c.Lower = casefile.Arch{Scan: w.lower, Labels: w.lowerLabels}
	if upper, lower, err = occlusion.Load(ctx, c); err != nil {
		return nil, nil, err
	}
	return upper, lower, occlusion.FindTeeth(ctx, upper, lower)
}

// movedFile and labelsFile are the names of the files beside the case.
func (w *handWork) movedFile() string            { return w.stem() + "-lower.ply" }
func (w *handWork) labelsFile(jaw string) string { return w.stem() + "-" + jaw + ".labels.json" }

// stem is the name of the case without its ending.
func (w *handWork) stem() string {
	name := filepath.Base(w.out)
	return strings.TrimSuffix(name, filepath.Ext(name))
}

// hold takes hold of the folder of the case, and of whatever may come beside it.
func (w *handWork) hold(g *gate) (*atomicfile.Folder, error) {
	inputs, names := []string{w.upper, w.lower}, []string{filepath.Base(w.out), w.movedFile()}
	for _, l := range []struct{ given, jaw string }{{w.upperLabels, "upper"}, {w.lowerLabels, "lower"}} {
		if l.given != "" {
			inputs = append(inputs, l.given)
		} else {
			names = append(names, w.labelsFile(l.jaw))
		}
	}
	dir := filepath.Dir(w.out)
	if _, err := os.Stat(dir); err != nil {
		return nil, inputError{fmt.Errorf("cannot write %s: %w; make its folder first, or choose another with -o", w.out, err)}
	}
	var paths []string
	for _, name := range names {
		paths = append(paths, filepath.Join(dir, name))
	}
	if err := protect(inputs, paths); err != nil {
		return nil, err
	}
	return holdFolder(g, inputs, func() (*atomicfile.Folder, error) {
		return atomicfile.OpenFolder(dir, w.stem()+".sha256", names...)
	})
}

func putTogether(ctx context.Context, g *gate, w handWork, stdout io.Writer) error {
	folder, err := w.hold(g)
	if err != nil {
		return err
	}
	upper, lower, err := w.load(ctx)
	if err != nil {
		return err
	}
	a, err := articulate.Articulate(ctx, upper, lower, w.options)
	var none *articulate.NoFitError
	if errors.As(err, &none) {
		return inputError{fmt.Errorf("%w%s", err, placesFound(none))}
	} else if errors.Is(err, settle.ErrArch) || errors.Is(err, articulate.ErrNoFit) {
		return inputError{err}
	} else if err != nil {
		return err
	}
	made, err := w.makeCase(a, upper, lower)
	if err != nil {
		return err
	}
	if err := g.write(func() error { return folder.Write(ctx, made...) }); err != nil {
		return err
	}
	if err := report.WriteArticulated(stdout, a, report.TextOptions{Colour: showsColours(stdout)}); err != nil {
		return err
	}
	_, err = fmt.Fprintf(stdout, "\nWritten: %s. Examine the case with\n  cusptrace examine %s -o OUT\n", written(w.out, made), w.out)
	return err
}

// placesFound lists the places of a pair that was not put together.
func placesFound(e *articulate.NoFitError) string {
	const most = 4
	var b strings.Builder
	for i, p := range e.Places[:min(most, len(e.Places))] {
		fmt.Fprintf(&b, "\n  place %d: close over %.0f mm²", i+1, max(0, p.Area))
		if i > 0 {
			fmt.Fprintf(&b, ", %.1f mm from the first", p.Away)
		}
	}
	return b.String()
}

// written lists the files of a case that was put together by hand, the case first.
func written(out string, made []atomicfile.Content) string {
	names := []string{out}
	for _, m := range made {
		if m.Name != filepath.Base(out) {
			names = append(names, filepath.Join(filepath.Dir(out), m.Name))
		}
	}
	return strings.Join(names, ", ")
}

// textFile is a file of given text.
func textFile(name string, text []byte) atomicfile.Content {
	return atomicfile.Content{Name: name, Write: func(w io.Writer) error { _, err := w.Write(text); return err }}
}

// makeCase is the case of two arches in the frame of the upper one, with the moved
// lower scan and the labels that were found.
func (w handWork) makeCase(a *findings.Articulated, upper, lower *casts.Scan) (made []atomicfile.Content, err error) {
	c := casefile.Default()
	c.Units = w.unit
	moved, err := articulate.Moved(lower.Mesh, a, w.unit) // the files keep the unit of the scans
	if err != nil {
		return nil, err
	}
	made = append(made, atomicfile.Content{Name: w.movedFile(), Write: func(to io.Writer) error { return meshfile.WritePLY(to, moved, nil) }})
	c.Lower.Scan = w.movedFile()
	if c.Upper.Scan, err = from(filepath.Dir(w.out), w.upper); err != nil {
		return nil, err
	}
	for _, l := range []struct {
		given string
		scan  *casts.Scan
		jaw   string
		to    *string
	}{{w.upperLabels, upper, "upper", &c.Upper.Labels}, {w.lowerLabels, lower, "lower", &c.Lower.Labels}} {
		switch {
		case l.given != "":
			*l.to, err = from(filepath.Dir(w.out), l.given)
		case l.scan.Labels != nil:
			var text bytes.Buffer
			err = l.scan.Labels.Write(&text)
			made = append(made, textFile(w.labelsFile(l.jaw), text.Bytes()))
			*l.to = w.labelsFile(l.jaw)
		}
		if err != nil {
			return nil, err
		}
	}
	articulate.Enter(c, a)
	var text bytes.Buffer
	if err := casefile.Write(&text, c); err != nil {
		return nil, err
	}
	return append(made, textFile(filepath.Base(w.out), text.Bytes())), nil
}

// from is a path as seen from a folder, with slashes.
func from(dir, path string) (string, error) {
	d, err := filepath.Abs(dir)
	if err != nil {
		return "", err
	}
	p, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	if r, err := filepath.Rel(d, p); err == nil {
		p = r
	}
	return filepath.ToSlash(p), nil
}
