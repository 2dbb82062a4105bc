package cli

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/cusptrace/cusptrace/internal/atomicfile"
	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/cusptrace/cusptrace/pkg/segment"
)

// assumedCase is the name of the case file that is made for two bare scans.
const assumedCase = "case.yaml"

// examineScans examines two scans without a case file: it tells upper from lower by their
// shape, writes the case that it assumes, with mean values, into dir, and examines that.
func examineScans(ctx context.Context, g *gate, scans [2]string, u mesh.Unit, dir string, o examineOptions, stdout,
	stderr io.Writer) error {
	path := filepath.Join(dir, assumedCase)
	if _, err := os.Lstat(path); err == nil {
		return inputError{fmt.Errorf("%s exists: examine it with\n  cusptrace examine %s -o %s\nor choose another "+
			"folder with -o", path, path, dir)}
	}
	c := casefile.Default()
	folder, err := holdResults(g, scans[:], dir, o.names(c)...)
	if err != nil {
		return err
	}
	exchanged, err := tellJaws(ctx, scans, u)
	if err != nil {
		return err
	}
	if exchanged {
		scans[0], scans[1] = scans[1], scans[0]
		fmt.Fprintf(stderr, "%s looks like the upper arch and %s like the lower one: taken so\n", scans[0], scans[1])
	}
	c.Units = u
	if c.Upper.Scan, err = pathFrom(dir, scans[0]); err != nil {
		return err
	}
	if c.Lower.Scan, err = pathFrom(dir, scans[1]); err != nil {
		return err
	}
	var text bytes.Buffer
	if err := casefile.Write(&text, c); err != nil {
		return err
	}
	e := &examination{path: path, beside: func() error { return atomicfile.WriteFile(path, text.Bytes(), 0o666) }}
	if e.c, e.warnings, err = casefile.Parse(path, text.Bytes()); err != nil {
		return err
	}
	e.c.File, e.c.SHA256 = assumedCase, fmt.Sprintf("%x", sha256.Sum256(text.Bytes()))
	if _, err := e.run(ctx, g, folder, o, stdout, stderr); err != nil {
		return err
	}
	_, err = fmt.Fprintf(stdout, "\nAssumed: mean values for mounting and settings. They are in %s; change them there "+
		"and examine again with\n  cusptrace examine %s -o %s\n", path, path, dir)
	return err
}

// pathFrom is a path as seen from a folder, with slashes.
func pathFrom(dir, path string) (string, error) {
	from, err := filepath.Abs(dir)
	if err != nil {
		return "", err
	}
	to, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	if rel, err := filepath.Rel(from, to); err == nil {
		return filepath.ToSlash(rel), nil
	}
	return filepath.ToSlash(to), nil // on another volume
}

// unsureJaw is the certainty below which two scans are taken in the order in which they came.
const unsureJaw = 0.3

// tellJaws reports whether the first of two scans is the lower one.
func tellJaws(ctx context.Context, scans [2]string, u mesh.Unit) (exchanged bool, err error) {
	var jaws [2]dentition.Jaw
	var sure [2]float64
	tell := func(i int) error {
		raw, err := meshfile.ReadFile(scans[i], meshfile.ReadOptions{Unit: u})
		if err != nil {
			return inputError{err}
		}
		m, _ := mesh.Weld(raw, 0)
		if err := inspect.CheckArch(m, u); err != nil {
			return inputError{fmt.Errorf("%s: %w", scans[i], err)}
		}
		jaws[i], sure[i], err = segment.LooksLike(ctx, m)
		if errors.Is(err, segment.ErrNoArch) {
			return inputError{fmt.Errorf("%s: %w; without teeth there are no contacts to examine; where it has some, label them and "+
				"give a case file", scans[i], err)}
		}
		return err
	}
	if err := par.BothErr(func() error { return tell(0) }, func() error { return tell(1) }); err != nil {
		return false, err
	}
	if jaws[0] == jaws[1] && min(sure[0], sure[1]) > unsureJaw {
		return false, inputError{fmt.Errorf("%s and %s both look like the %v arch; give one upper and one lower scan, or "+
			"a case file that says which is which", scans[0], scans[1], jaws[0])}
	}
	return jaws[0] == dentition.Lower && jaws[1] == dentition.Upper && max(sure[0], sure[1]) > unsureJaw, nil
}
