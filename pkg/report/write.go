// Package report presents findings: as files that other programs read and as
// text that people read. It computes nothing about teeth.
package report

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/internal/atomicfile"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// Files are the names that [Folder.Write] always writes.
var Files = [...]string{"findings.json", "contacts.csv", "frames.csv"}

// File is one more file for [Folder.Write], such as those of [Report.Files].
type File struct {
	Name    string
	Content []byte
}

// WriteJSON writes the findings as indented JSON. Numbers read back exactly.
func WriteJSON(w io.Writer, f *findings.Findings) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	return e.Encode(f)
}

// listName is the file of a folder that lists what was written there.
const listName = "results.sha256"

// Folder is a folder for the results of one examination at a time. It holds the folder,
// so that no other process writes results there, until it is closed.
type Folder struct{ at *atomicfile.Folder }

// OpenFolder makes a folder if need be and says, before anything is computed, whether
// [Folder.Write] could write into it the files that it always writes and those with more
// names: it replaces only what an earlier examination wrote and nobody changed since. A
// folder that was made goes again where nothing is written.
func OpenFolder(dir string, more ...string) (*Folder, error) {
	at, err := atomicfile.OpenFolder(dir, listName, slices.Concat(Files[:], more)...)
	if err != nil {
		return nil, err
	}
	return &Folder{at}, nil
}

// Dir is the folder as it was named.
func (f *Folder) Dir() string { return f.at.Dir() }

// Close ends the hold. A second call does nothing.
func (f *Folder) Close() error { return f.at.Close() }

// Paths are the files that [Folder.Write] would write, replace or remove.
func (f *Folder) Paths() ([]string, error) { return f.at.Paths() }

// Removed are the names of the files of an earlier examination that [Folder.Write]
// removed and did not write anew.
func (f *Folder) Removed() []string { return f.at.Removed() }

// ErrOtherCase says that a folder holds the results of another case.
var ErrOtherCase = errors.New("it holds the results of another case")

// CheckCase says whether results of these scans may take the place of those in the
// folder: there are none, or they are of the same case, since one scan at least has the
// same bytes. The error is an [ErrOtherCase] that names that case.
func (f *Folder) CheckCase(inputs []findings.Input) error {
	path := filepath.Join(f.at.Dir(), Files[0])
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	} else if err != nil {
		return err
	}
	var old struct {
		Name   string           `json:"name"`
		Inputs []findings.Input `json:"inputs"`
	}
	if err := json.Unmarshal(text, &old); err != nil {
		return fmt.Errorf("output folder %s: %s is not what an examination wrote: %w; choose another folder", f.at.Dir(), Files[0], err)
	}
	scan := func(in findings.Input) bool { return in.Role == findings.UpperScan || in.Role == findings.LowerScan }
	known := map[string]bool{}
	for _, in := range inputs {
		known[in.SHA256] = known[in.SHA256] || scan(in)
	}
	var names []string
	for _, in := range old.Inputs {
		if scan(in) && known[in.SHA256] {
			return nil
		}
		names = append(names, in.File)
	}
	if old.Name != "" {
		names = []string{old.Name}
	}
	return fmt.Errorf("output folder %s: %w (%s); choose another folder, or remove those results first", f.at.Dir(),
		ErrOtherCase, strings.Join(names, ", "))
}

// Write writes the findings, and more files beside them, in the place of the results of an
// earlier examination. Every file is written under a temporary name first and all are
// renamed at the end, so that an error or a cancellation leaves no partial file and no new
// folder.
func (f *Folder) Write(ctx context.Context, doc *findings.Findings, more ...File) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	var files []atomicfile.Content
	for i, write := range [len(Files)]func(io.Writer, *findings.Findings) error{WriteJSON, WriteContacts, WriteFrames} {
		files = append(files, atomicfile.Content{Name: Files[i], Write: func(w io.Writer) error { return write(w, doc) }})
	}
	for _, m := range more {
		files = append(files, atomicfile.Content{Name: m.Name, Write: func(w io.Writer) error { _, err := w.Write(m.Content); return err }})
	}
	return f.at.Write(ctx, files...)
}

// WriteDir opens a folder, writes findings and more files into it as [Folder.Write] does,
// and closes it. It does not ask whose results it replaces ([Folder.CheckCase]).
func WriteDir(ctx context.Context, dir string, doc *findings.Findings, more ...File) (err error) {
	if err := ctx.Err(); err != nil {
		return err
	}
	var names []string
	for _, m := range more {
		names = append(names, m.Name)
	}
	f, err := OpenFolder(dir, names...)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return f.Write(ctx, doc, more...)
}
