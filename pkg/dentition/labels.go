package dentition

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"

	"github.com/cusptrace/cusptrace/internal/faults"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// The kinds of mistakes in labels. Those in a file are [Fault]s.
var (
	// ErrLabelsFormat says that the file is not a labels file.
	ErrLabelsFormat = errors.New("not a labels file")
	// ErrLabelsCount says that there is not one label for every vertex.
	ErrLabelsCount = errors.New("labels do not fit the scan")
	// ErrJaw says that labels are those of the other jaw.
	ErrJaw = errors.New("wrong jaw")
)

// Fault is one mistake in a labels file: the line, the key such as labels[17]
// (counted from 0), what was found and what would do.
type Fault = faults.Fault

// Labels say for every vertex of a scan to which tooth it belongs. They are
// immutable and safe for any number of readers.
type Labels struct {
	jaw    Jaw
	vertex []ToothID
}

// NewLabels makes labels of one jaw from one tooth a vertex, [NoTooth] where it
// is none. It copies the slice. A code that is no tooth is an error wrapping
// [ErrTooth], a tooth of the other jaw one wrapping [ErrJaw].
func NewLabels(jaw Jaw, vertex []ToothID) (*Labels, error) {
	if jaw != Upper && jaw != Lower {
		return nil, fmt.Errorf("%w: %v, must be upper or lower", ErrJaw, jaw)
	}
	for i, t := range vertex {
		if err := CheckJaw(t, jaw); err != nil {
			return nil, &Fault{Key: labelKey(i), Err: err}
		}
	}
	return &Labels{jaw: jaw, vertex: slices.Clone(vertex)}, nil
}

// CheckJaw returns an error wrapping [ErrJaw] where a tooth is not one of a jaw;
// no tooth is one of both.
func CheckJaw(t ToothID, jaw Jaw) error {
	if t == NoTooth {
		return nil
	}
	if err := t.check(); err != nil {
		return err
	}
	if t.Jaw() != jaw {
		return fmt.Errorf("%w: %v is a tooth of the %v jaw, must be one of the %v jaw or 0", ErrJaw, t, t.Jaw(), jaw)
	}
	return nil
}

func labelKey(i int) string { return "labels[" + strconv.Itoa(i) + "]" }

// Jaw is the jaw of the labels.
func (l *Labels) Jaw() Jaw { return l.jaw }

// NumVertices is the number of labels.
func (l *Labels) NumVertices() int { return len(l.vertex) }

// Vertex is the tooth of a vertex, [NoTooth] where it is none.
func (l *Labels) Vertex(v mesh.VertexID) ToothID { return l.vertex[v] }

// Teeth lists the teeth that occur, in rising order of their codes.
func (l *Labels) Teeth() []ToothID {
	var seen [256]bool
	for _, t := range l.vertex {
		seen[t] = true
	}
	var out []ToothID
	for t := range All {
		if seen[t] {
			out = append(out, t)
		}
	}
	return out
}

// Triangles is the tooth of every triangle of a mesh: the one that at least two
// of its corners carry, otherwise [NoTooth]. A mesh with another number of
// vertices than there are labels is an error wrapping [ErrLabelsCount].
func (l *Labels) Triangles(m *mesh.Mesh) ([]ToothID, error) {
	if m.NumVertices() != len(l.vertex) {
		return nil, countError(len(l.vertex), m.NumVertices())
	}
	out := make([]ToothID, m.NumTriangles())
	for t, c := range m.All() {
		a, b := l.vertex[c[0]], l.vertex[c[1]]
		switch {
		case a == b || a == l.vertex[c[2]]:
			out[t] = a
		case b == l.vertex[c[2]]:
			out[t] = b
		}
	}
	return out, nil
}

func countError(labels, vertices int) error {
	return fmt.Errorf("%w: %d labels, but the scan has %d distinct vertices", ErrLabelsCount, labels, vertices)
}

// maxLabelsFile is the largest labels file that is read: 4 bytes a vertex for a
// scan of 64 million.
const maxLabelsFile = 1 << 28

// ReadLabels reads a labels file,
//
//	{"jaw": "upper", "labels": [0, 0, 16, …]}
//
// with one whole number a vertex, 0 for no tooth and else the ISO 3950 code, in
// the order in which distinct coordinates first appear in the scan file. The
// key numbering may say "ISO 3950"; other keys are passed over. The name stands
// in errors.
//
// jaw is the jaw of the scan and vertices its number of distinct vertices. The
// error is one [Fault] or several, joined in the order of the file with at most
// 20 in full; they wrap [ErrLabelsFormat], [ErrLabelsCount], [ErrTooth] or
// [ErrJaw].
func ReadLabels(name string, r io.Reader, jaw Jaw, vertices int) (*Labels, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxLabelsFile+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	p := labelsParser{name: name, data: data, jaw: jaw}
	if len(data) > maxLabelsFile {
		p.fault(0, "", fmt.Errorf("%w: more than %d bytes", ErrLabelsFormat, maxLabelsFile))
	} else {
		p.file(vertices)
	}
	if err := faults.Join(p.faults, max(0, p.wrong-faults.Most)); err != nil {
		return nil, err
	}
	return &Labels{jaw: jaw, vertex: p.labels}, nil
}

// labelsParser reads one labels file.
type labelsParser struct {
	name   string
	data   []byte
	jaw    Jaw
	labels []ToothID
	faults []*Fault
	// wrong counts the labels that are wrong; their faults are made only as far
	// as they will be shown.
	wrong int
}

// fault keeps a fault at a byte of the file.
func (p *labelsParser) fault(offset int, key string, err error) {
	before := p.data[:offset]
	p.faults = append(p.faults, &Fault{
		File: p.name, Line: 1 + bytes.Count(before, []byte{'\n'}), Column: offset - bytes.LastIndexByte(before, '\n'),
		Key: key, Err: err,
	})
}

// file reads the outer object key by key, to know where each stands.
func (p *labelsParser) file(vertices int) {
	d := json.NewDecoder(bytes.NewReader(p.data))
	syntax := func(err error) {
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			err = errors.New("it ends too early")
		}
		p.fault(int(d.InputOffset()), "", fmt.Errorf("%w: %w", ErrLabelsFormat, err))
	}
	first, err := d.Token()
	if err != nil {
		syntax(err)
		return
	}
	if first != json.Delim('{') {
		p.fault(0, "", fmt.Errorf(`%w: it must be an object {"jaw": …, "labels": […]}`, ErrLabelsFormat))
		return
	}
	seen := map[string]bool{}
	for d.More() {
		t, err := d.Token()
		if err != nil {
			syntax(err)
			return
		}
		key := fmt.Sprint(t)
		var raw json.RawMessage
		if err := d.Decode(&raw); err != nil {
			syntax(err)
			return
		}
		end := int(d.InputOffset())
		start := end - len(raw)
		if seen[key] && (key == "jaw" || key == "labels" || key == "numbering") {
			p.fault(start, key, fmt.Errorf("%w: given twice", ErrLabelsFormat))
			continue
		}
		seen[key] = true
		switch key {
		case "jaw":
			p.jawOf(start, raw)
		case "numbering":
			p.word(start, key, raw, "ISO 3950", ErrLabelsFormat)
		case "labels":
			p.list(start, raw, vertices)
		}
	}
	if _, err := d.Token(); err != nil {
		syntax(err)
		return
	}
	end := int(d.InputOffset())
	if rest := bytes.TrimLeft(p.data[end:], " \t\r\n"); len(rest) > 0 {
		p.fault(len(p.data)-len(rest), "", fmt.Errorf("%w: something follows the object", ErrLabelsFormat))
	}
	for _, key := range []string{"jaw", "labels"} {
		if !seen[key] {
			p.fault(0, key, fmt.Errorf("%w: missing", ErrLabelsFormat))
		}
	}
}

// jawOf checks the jaw. The labels of a file for the other jaw are read as that
// jaw's, so that the one mistake is told once.
func (p *labelsParser) jawOf(offset int, raw []byte) {
	for _, other := range []Jaw{Upper, Lower} {
		if other != p.jaw && string(raw) == strconv.Quote(other.String()) {
			p.fault(offset, "jaw", fmt.Errorf("%w: %q, must be %q; are the two arches, or their labels, exchanged?", ErrJaw, other, p.jaw))
			p.jaw = other
			return
		}
	}
	p.word(offset, "jaw", raw, p.jaw.String(), ErrJaw)
}

// word checks a text that can only be one.
func (p *labelsParser) word(offset int, key string, raw []byte, want string, kind error) {
	var s string
	if err := json.Unmarshal(raw, &s); err != nil || s != want {
		p.fault(offset, key, fmt.Errorf("%w: %s, must be %q", kind, shorten(string(raw)), want))
	}
}

// list reads the labels. raw is a JSON value, so its parts need no check of
// their syntax.
func (p *labelsParser) list(offset int, raw []byte, vertices int) {
	if raw[0] != '[' {
		p.fault(offset, "labels", fmt.Errorf("%w: %s, must be a list of whole numbers", ErrLabelsFormat, shorten(string(raw))))
		return
	}
	p.labels = make([]ToothID, 0, min(vertices, len(raw)/2+1))
	for i := 1; ; {
		for raw[i] == ' ' || raw[i] == '\t' || raw[i] == '\r' || raw[i] == '\n' || raw[i] == ',' {
			i++
		}
		if raw[i] == ']' {
			break
		}
		start := i
		i = valueEnd(raw, i)
		t, err := p.label(raw[start:i])
		if err != nil {
			if p.wrong++; p.wrong <= faults.Most {
				p.fault(offset+start, labelKey(len(p.labels)), err)
			}
		}
		p.labels = append(p.labels, t)
	}
	if len(p.labels) != vertices {
		p.fault(offset, "labels", countError(len(p.labels), vertices))
	}
}

// valueEnd is where the JSON value that begins at i ends.
func valueEnd(raw []byte, i int) int {
	depth, quoted := 0, false
	for ; ; i++ {
		switch c := raw[i]; {
		case quoted:
			if c == '\\' {
				i++
			} else if c == '"' {
				quoted = false
			}
		case c == '"':
			quoted = true
		case c == '[' || c == '{':
			depth++
		case depth == 0 && (c == ',' || c == ']' || c == ' ' || c == '\t' || c == '\r' || c == '\n'):
			return i
		case c == ']' || c == '}':
			depth--
		}
	}
}

// label reads one label.
func (p *labelsParser) label(b []byte) (ToothID, error) {
	n, err := strconv.Atoi(string(b))
	if err != nil {
		return NoTooth, fmt.Errorf("%w: %s, must be a whole number", ErrLabelsFormat, shorten(string(b)))
	}
	if n < 0 || n > 99 {
		return NoTooth, fmt.Errorf("%w: %d, must be two digits such as 16 (ISO 3950), or 0", ErrTooth, n)
	}
	return ToothID(n), CheckJaw(ToothID(n), p.jaw)
}

// Write writes a labels file that [ReadLabels] reads back, always the same
// bytes.
func (l *Labels) Write(w io.Writer) error {
	out := bufio.NewWriter(w)
	fmt.Fprintf(out, "{\"jaw\": %q, \"labels\": [", l.jaw)
	const perLine = 32
	for i, t := range l.vertex {
		if i > 0 {
			out.WriteByte(',')
		}
		if i%perLine == 0 {
			out.WriteByte('\n')
		}
		out.WriteString(strconv.Itoa(int(t)))
	}
	out.WriteString("\n]}\n")
	return out.Flush()
}
