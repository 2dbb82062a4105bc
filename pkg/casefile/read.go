package casefile

import (
	"cmp"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"

	"github.com/cusptrace/cusptrace/internal/faults"
	"github.com/cusptrace/cusptrace/internal/inputfile"
)

// The kinds of mistakes. Each error of this package is or holds [Fault]s that
// wrap one of them.
var (
	// ErrFile says that the file, or one that it names, cannot be read.
	ErrFile = errors.New("cannot read")
	// ErrSyntax says that the text is not YAML that a case file may hold.
	ErrSyntax = errors.New("not a case file")
	// ErrUnknownKey says that a key is none of the case file.
	ErrUnknownKey = errors.New("unknown key")
	// ErrDuplicate says that something is given twice.
	ErrDuplicate = errors.New("given twice")
	// ErrMissing says that a key is missing.
	ErrMissing = errors.New("missing")
	// ErrType says that a value is of the wrong type or an unknown word.
	ErrType = errors.New("wrong value")
	// ErrRange says that a value is outside its possible range.
	ErrRange = errors.New("out of range")
	// ErrConflict says that values do not go together.
	ErrConflict = errors.New("does not fit")
)

// Fault is one mistake: the file, line and column, the key, what was found and
// what would do.
type Fault = faults.Fault

// Warning is a value that is possible but unusual, or that has no effect.
type Warning struct {
	// Line and Column are where it stands in the file, from 1; 0 for a case that
	// was not read from one.
	Line   int `json:"line,omitempty"`
	Column int `json:"column,omitempty"`
	// Key is the key, such as settings.right.condylar_inclination_deg.
	Key string `json:"key"`
	// Text says what is unusual.
	Text string `json:"text"`
}

// String is "line:column: key: text".
func (w Warning) String() string {
	if w.Line == 0 {
		return w.Key + ": " + w.Text
	}
	return fmt.Sprintf("%d:%d: %s: %s", w.Line, w.Column, w.Key, w.Text)
}

// Read reads the case file at path and checks that the files that it names are
// there. The warnings are in the order of the file. The error is one [Fault] or
// several, joined in the order of the file, with at most 20 in full.
func Read(path string) (*Case, []Warning, error) {
	data, err := load(path)
	if err != nil {
		return nil, nil, &Fault{File: path, Err: err}
	}
	d, c, warnings := parse(path, data)
	if len(d.faults) == 0 {
		d.checkFiles(c)
	}
	if err := faults.Join(d.faults, 0); err != nil {
		return nil, nil, err
	}
	c.File, c.SHA256 = filepath.Base(path), fmt.Sprintf("%x", sha256.Sum256(data))
	return c, warnings, nil
}

// Parse reads the text of a case file. The name stands in errors, and its
// folder is where the paths of the case start; no file is opened.
func Parse(name string, data []byte) (*Case, []Warning, error) {
	d, c, warnings := parse(name, data)
	if err := faults.Join(d.faults, 0); err != nil {
		return nil, nil, err
	}
	return c, warnings, nil
}

func parse(name string, data []byte) (*decoder, *Case, []Warning) {
	d := &decoder{file: name, places: map[string]place{}}
	root, f := document(data)
	if f != nil {
		f.File = name
		d.faults = append(d.faults, f)
		return d, nil, nil
	}
	c := Default()
	c.Dir = filepath.Dir(name)
	d.decode(root, c)
	// Values that could not be read are at their defaults; to check how they go
	// with others would only confuse.
	k := checker{file: name, places: d.places, whole: len(d.faults) == 0, known: map[string]bool{}}
	for _, f := range d.faults {
		k.known[f.Key] = true
	}
	if k.whole {
		k.derive(c)
	}
	k.check(c)
	d.faults = append(d.faults, k.faults...)
	return d, c, k.sorted()
}

// Check reports what is wrong or unusual in a case that was made or changed in
// a program, as [Read] does for a file. It opens no file.
func (c *Case) Check() ([]Warning, error) {
	k := checker{whole: true}
	k.check(c)
	if err := faults.Join(k.faults, 0); err != nil {
		return nil, err
	}
	return k.sorted(), nil
}

// load is the content of a file that may be a case file. What is too long is not read
// to its end.
func load(path string) ([]byte, error) {
	data, err := inputfile.Read(path, maxBytes)
	switch {
	case err != nil:
		return nil, fmt.Errorf("%w: %w", ErrFile, err)
	case len(data) > maxBytes:
		return nil, fault(ErrSyntax, "more than %d bytes, a case file has at most as many", maxBytes).Err
	}
	return data, nil
}

// checkFiles looks whether the files that the case names are there.
func (d *decoder) checkFiles(c *Case) {
	files := []struct{ key, path string }{
		{"upper.scan", c.Upper.Scan}, {"upper.labels", c.Upper.Labels},
		{"lower.scan", c.Lower.Scan}, {"lower.labels", c.Lower.Labels},
	}
	for i, path := range c.Upper.Again {
		files = append(files, struct{ key, path string }{item("upper.again", i), path})
	}
	for i, path := range c.Lower.Again {
		files = append(files, struct{ key, path string }{item("lower.again", i), path})
	}
	for _, f := range files {
		if f.path == "" {
			continue
		}
		full := c.Path(f.path)
		err := inputfile.Check(full)
		if err == nil {
			continue
		}
		msg := fmt.Errorf("%w: %q: %w", ErrFile, f.path, err)
		if near := nearestFile(full); near != "" && errors.Is(err, fs.ErrNotExist) {
			msg = fmt.Errorf("%w; did you mean %q?", msg, filepath.ToSlash(filepath.Join(filepath.Dir(f.path), near)))
		}
		d.add(f.key, &Fault{Err: msg})
	}
}

// nearestFile is the file name in the folder of a missing file that comes
// nearest to it; empty where none does.
func nearestFile(missing string) string {
	entries, err := os.ReadDir(filepath.Dir(missing))
	if err != nil {
		return ""
	}
	var names []string
	for _, e := range entries {
		if !e.IsDir() {
			names = append(names, e.Name())
		}
	}
	return nearest(filepath.Base(missing), names)
}

// place is where something stands in the file, from 1.
type place struct{ line, column int }

// add keeps a fault with the place of its key, or of the nearest key above.
func (d *decoder) add(key string, f *Fault) {
	f.File, f.Key = d.file, key
	p := placeOf(d.places, key)
	f.Line, f.Column = p.line, p.column
	d.faults = append(d.faults, f)
}

// placeOf is the place of the key, or of the nearest key above it that stands
// in the file.
func placeOf(places map[string]place, key string) place {
	for {
		if p, ok := places[key]; ok || key == "" {
			return p
		}
		key = parent(key)
	}
}

// parent is the key above: a for a.b and for a[1].
func parent(key string) string {
	for i := len(key) - 1; i >= 0; i-- {
		if key[i] == '.' || key[i] == '[' {
			return key[:i]
		}
	}
	return ""
}

// join is the key under another.
func join(above, key string) string {
	if above == "" {
		return key
	}
	return above + "." + key
}

// item is the key of an item of a list, which is counted from 0.
func item(key string, i int) string { return key + "[" + strconv.Itoa(i) + "]" }

// sorted is the warnings in the order of the file.
func (k *checker) sorted() []Warning {
	slices.SortStableFunc(k.warnings, func(a, b Warning) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column), cmp.Compare(a.Key, b.Key))
	})
	return k.warnings
}

// finite reports whether v is a number.
func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
