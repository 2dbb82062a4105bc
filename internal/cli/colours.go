package cli

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/cusptrace/cusptrace/internal/atomicfile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
)

// toothColour is a line of a colour table.
type toothColour struct {
	colour meshfile.RGB
	tooth  dentition.ToothID
}

// readColourTable reads a table of colours: a line each of "#rrggbb tooth" or "r g b tooth", 0
// for no tooth; after a # and a space comes a comment. All teeth are of one jaw, the named one
// or, where none is named, that of the first.
func readColourTable(path string, named dentition.Jaw) (table []toothColour, jaw dentition.Jaw, err error) {
	jaw = named
	f, err := os.Open(path)
	if err != nil {
		return nil, 0, err
	}
	defer f.Close()
	in := bufio.NewScanner(f)
	for line := 1; in.Scan(); line++ {
		text, _, _ := strings.Cut(in.Text(), "# ")
		w := strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == '\t' || r == ',' || r == ';' })
		if len(w) == 0 {
			continue
		}
		c, err := parseToothColour(w)
		if jaw == 0 && c.tooth != dentition.NoTooth {
			jaw = c.tooth.Jaw()
		}
		if err == nil {
			err = dentition.CheckJaw(c.tooth, jaw)
		}
		if err != nil {
			return nil, 0, fmt.Errorf("%s:%d: %w", path, line, err)
		}
		for _, o := range table {
			if o.colour == c.colour && o.tooth != c.tooth {
				return nil, 0, fmt.Errorf("%s:%d: the colour stands for another tooth above", path, line)
			}
		}
		table = append(table, c)
	}
	if err := in.Err(); err != nil {
		return nil, 0, fmt.Errorf("%s: %w", path, err)
	}
	if len(table) == 0 || jaw == 0 {
		return nil, 0, fmt.Errorf("%s: no colour of a tooth, expected lines such as #ff0000 11", path)
	}
	return table, jaw, nil
}

func parseToothColour(w []string) (c toothColour, err error) {
	switch hex, ok := strings.CutPrefix(w[0], "#"); {
	case ok && len(hex) == 6 && len(w) == 2:
		v, err := strconv.ParseUint(hex, 16, 24)
		if err != nil {
			return c, fmt.Errorf("found %q, expected a colour such as #ff0000", w[0])
		}
		c.colour = meshfile.RGB{uint8(v >> 16), uint8(v >> 8), uint8(v)}
	case !ok && len(w) == 4:
		for i := range c.colour {
			v, err := strconv.ParseUint(w[i], 10, 8)
			if err != nil {
				return c, fmt.Errorf("found %q, expected a number from 0 to 255", w[i])
			}
			c.colour[i] = uint8(v)
		}
	default:
		return c, fmt.Errorf("found %q, expected #rrggbb TOOTH or R G B TOOTH", strings.Join(w, " "))
	}
	code := w[len(w)-1]
	if code == "0" {
		return c, nil
	}
	c.tooth, err = dentition.ParseTooth(code)
	return c, err
}

// nearColour is how far a colour may be off the table's, over all three channels: programs that
// write colours as numbers from 0 to 1 round them.
const nearColour = 6

// toothOfColour is the tooth of the nearest colour of a table; false where none is near.
func toothOfColour(table []toothColour, c meshfile.RGB) (dentition.ToothID, bool) {
	best, least := dentition.NoTooth, nearColour+1
	for _, k := range table {
		d := 0
		for i := range c {
			d += max(int(c[i])-int(k.colour[i]), int(k.colour[i])-int(c[i]))
		}
		if d < least {
			best, least = k.tooth, d
		}
	}
	return best, least <= nearColour
}

// labelByColours writes the labels that the colours of a scan stand for.
func labelByColours(ctx context.Context, g *gate, scan, tablePath, out string, jaw dentition.Jaw, u mesh.Unit, stdout io.Writer) error {
	table, jaw, err := readColourTable(tablePath, jaw)
	if err != nil {
		return inputError{err}
	}
	raw, err := meshfile.ReadFile(scan, meshfile.ReadOptions{Unit: u})
	if err != nil {
		return inputError{err}
	}
	colours, err := meshfile.ReadColours(scan)
	if err != nil {
		return inputError{err}
	}
	m, remap := mesh.Weld(raw, 0)
	if colours.Triangles == nil { // of vertices that are joined the first one's counts
		joined, seen := make([]meshfile.RGB, m.NumVertices()), make([]bool, m.NumVertices())
		for v, to := range remap {
			if !seen[to] {
				joined[to], seen[to] = colours.Vertices[v], true
			}
		}
		colours.Vertices = joined
	}
	byVertex, err := colours.ByVertex(m)
	if err != nil {
		return inputError{fmt.Errorf("%s: %w", scan, err)}
	}
	codes := make([]dentition.ToothID, len(byVertex))
	count := map[dentition.ToothID]int{}
	for v, c := range byVertex {
		t, ok := toothOfColour(table, c)
		if !ok {
			return inputError{fmt.Errorf("%s: vertex %d has the colour #%02x%02x%02x, which is not in %s; give it a tooth there, or 0",
				scan, v, c[0], c[1], c[2], tablePath)}
		}
		codes[v] = t
		count[t]++
	}
	labels, err := dentition.NewLabels(jaw, codes)
	if err != nil {
		return inputError{fmt.Errorf("%s: %w", scan, err)}
	}
	var text bytes.Buffer
	if err := labels.Write(&text); err != nil {
		return err
	}
	if err := g.write(func() error { return atomicfile.WriteFile(out, text.Bytes(), 0o644) }); err != nil {
		if errors.Is(err, context.Canceled) || ctx.Err() != nil {
			return err
		}
		return inputError{fmt.Errorf("%w; choose another file with -o", err)}
	}
	fmt.Fprintf(stdout, "%d teeth read from the colours of %s\n", len(labels.Teeth()), scan)
	for _, t := range labels.Teeth() {
		fmt.Fprintf(stdout, "  %v  %-32s %7d vertices\n", t, t.Name(), count[t])
	}
	return nil
}
