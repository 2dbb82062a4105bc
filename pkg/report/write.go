// Package report presents findings: as files that other programs read and as
// text that people read. It computes nothing about teeth.
package report

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"github.com/cusptrace/cusptrace/internal/atomicfile"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// Files are the names that [WriteDir] always writes.
var Files = [...]string{"findings.json", "contacts.csv", "frames.csv"}

// File is one more file for [WriteDir], such as those of [Report.Files].
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

// CheckDir says, before anything is computed, whether [WriteDir] could write
// into a folder the files that it always writes and those with more names. It
// leaves no trace.
func CheckDir(dir string, more ...string) error {
	made, err := makeDir(dir)
	defer unmake(made)
	if err != nil {
		return err
	}
	for _, name := range slices.Concat(Files[:], more) {
		if s, err := os.Stat(filepath.Join(dir, name)); err == nil && s.IsDir() {
			return fmt.Errorf("output folder %s: %s is a folder there, it should be a file or absent", dir, name)
		}
	}
	f, err := os.CreateTemp(dir, ".cusptrace-*")
	if err != nil {
		return unwritable(dir, err)
	}
	return errors.Join(f.Close(), os.Remove(f.Name()))
}

// makeDir makes a folder and lists those that it had to make, innermost first.
func makeDir(dir string) (made []string, err error) {
	for p := filepath.Clean(dir); ; p = filepath.Dir(p) {
		if _, err := os.Lstat(p); !errors.Is(err, fs.ErrNotExist) {
			break
		}
		made = append(made, p)
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return made, unwritable(dir, err)
	}
	return made, nil
}

// unmake takes folders away again, as far as nobody has put something there.
func unmake(made []string) {
	for _, p := range made {
		if os.Remove(p) != nil {
			return
		}
	}
}

func unwritable(dir string, err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		err = path.Err // the path may be that of a temporary file
	}
	return fmt.Errorf("output folder %s: cannot write there: %w", dir, err)
}

// WriteDir writes the findings, and more files beside them, into a folder, which
// it makes if need be. Every
// file is written under a temporary name first and all are renamed at the end,
// so that an error or a cancellation leaves no partial file and no new folder.
func WriteDir(ctx context.Context, dir string, f *findings.Findings, more ...File) (err error) {
	made, err := makeDir(dir)
	defer func() {
		if err != nil {
			unmake(made)
		}
	}()
	if err != nil {
		return err
	}
	type file struct {
		name  string
		write func(io.Writer) error
	}
	var files []file
	for i, write := range [len(Files)]func(io.Writer, *findings.Findings) error{WriteJSON, WriteContacts, WriteFrames} {
		files = append(files, file{Files[i], func(w io.Writer) error { return write(w, f) }})
	}
	for _, m := range more {
		files = append(files, file{m.Name, func(w io.Writer) error { _, err := w.Write(m.Content); return err }})
	}
	var pending []*atomicfile.File
	defer func() {
		for _, p := range pending {
			err = errors.Join(err, p.Cleanup())
		}
	}()
	for _, file := range files {
		if err := ctx.Err(); err != nil {
			return err
		}
		p, err := atomicfile.Create(filepath.Join(dir, file.name), 0o644)
		if err != nil {
			return unwritable(dir, err)
		}
		pending = append(pending, p)
		buf := bufio.NewWriterSize(p, 1<<16)
		if err := file.write(buf); err != nil {
			return fmt.Errorf("%s: %w", file.name, err)
		}
		if err := buf.Flush(); err != nil {
			return fmt.Errorf("%s: %w", file.name, err)
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	for i, p := range pending {
		if err := p.Replace(); err != nil {
			return fmt.Errorf("%s: %w", files[i].name, err)
		}
	}
	return nil
}
