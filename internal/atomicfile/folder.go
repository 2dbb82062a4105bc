package atomicfile

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// maxList is the largest list that is read.
const maxList = 1 << 20

// Folder is a folder into which one process at a time writes sets of files. A set takes
// the place of the one before it as a whole: files of the last set that are not in the
// new one go, and nothing else is replaced, neither what others put there nor what they
// changed. A process that is killed leaves at any time a folder that the next one goes
// on with: what stands there is listed.
//
// The list is a file of the folder with the SHA-256 of each file, in the form that the
// program sha256sum checks. Sets with lists of different names do not touch each other.
type Folder struct {
	dir, listName string
	names         []string
	made          []string // folders that had to be made, innermost first
	lock          *Lock
	wrote         bool
	removed       []string
}

// Content is a file for a [Folder].
type Content struct {
	Name  string
	Write func(io.Writer) error
}

// OpenFolder makes a folder if need be and holds it until [Folder.Close], for a set with a
// list of a name and files of other names; temporary files of processes that were killed are
// removed. It is refused where another process holds it ([ErrBusy]), or where files of these
// names are there that were not written here before, or were changed since ([ErrForeign]).
// The error is an [*Error].
func OpenFolder(dir, listName string, names ...string) (*Folder, error) {
	f := &Folder{dir: dir, listName: listName, names: names}
	for p := filepath.Clean(dir); ; p = filepath.Dir(p) {
		if _, err := os.Lstat(p); !errors.Is(err, fs.ErrNotExist) {
			break
		}
		f.made = append(f.made, p)
	}
	err := os.MkdirAll(dir, 0o777)
	if _, nowhere := place(dir); err != nil && errors.Is(nowhere, errDangling) {
		err = nowhere
	}
	if err == nil {
		f.lock, err = lock(filepath.Join(dir, temporaryPrefix+"folder.lock"))
	}
	if err != nil {
		f.unmake()
		return nil, &Error{Path: dir, Folder: true, Err: reason(err)}
	}
	clearStale(dir)
	if err := f.check(names); err != nil {
		return nil, errors.Join(err, f.Close())
	}
	return f, nil
}

// Close ends the hold. A folder that was made and into which nothing was written goes. A
// second call does nothing.
func (f *Folder) Close() error {
	err := f.lock.Close()
	if !f.wrote {
		f.unmake()
	}
	return err
}

// unmake takes made folders away again, as far as nobody has put something there.
func (f *Folder) unmake() {
	for _, p := range f.made {
		if os.Remove(p) != nil {
			return
		}
	}
	f.made = nil
}

// Dir is the folder as it was named.
func (f *Folder) Dir() string { return f.dir }

// Removed are the names of the files of the last set that [Folder.Write] removed and did
// not write anew, in order.
func (f *Folder) Removed() []string { return f.removed }

// Paths are the files that [Folder.Write] would write or remove. The error is an [*Error].
func (f *Folder) Paths() ([]string, error) {
	old, err := f.list()
	if err != nil {
		return nil, err
	}
	var out []string
	for _, name := range slices.Concat([]string{f.listName}, f.names, slices.Sorted(maps.Keys(old))) {
		out = append(out, filepath.Join(f.dir, name))
	}
	return out, nil
}

// check says whether files of these names could be written: they do not exist, or were
// written here before and not changed since.
func (f *Folder) check(names []string) error {
	old, err := f.list()
	if err != nil {
		return err
	}
	for _, name := range append([]string{f.listName}, names...) {
		path := filepath.Join(f.dir, name)
		info, err := os.Lstat(path)
		switch {
		case errors.Is(err, fs.ErrNotExist) || err == nil && name == f.listName && old != nil:
			continue
		case err != nil:
			return newError(path, err)
		case info.IsDir():
			return newError(path, fmt.Errorf("%w: a folder is in its place", ErrForeign))
		case !f.ours(name, old):
			return newError(path, fmt.Errorf("%w: it exists, and was not written by an earlier run or was changed since", ErrForeign))
		}
	}
	return nil
}

// ours reports whether a file of that name was written here and not changed since.
func (f *Folder) ours(name string, old map[string]string) bool {
	want := old[name]
	path := filepath.Join(f.dir, name)
	info, err := os.Lstat(path)
	if err != nil || want == "" || !info.Mode().IsRegular() {
		return false
	}
	file, err := os.Open(path)
	if err != nil {
		return false
	}
	defer file.Close()
	h := sha256.New()
	if _, err := io.Copy(h, file); err != nil {
		return false
	}
	return hex.EncodeToString(h.Sum(nil)) == want
}

// list is what was written here with its hashes; nil where there is no list.
func (f *Folder) list() (map[string]string, error) {
	path := filepath.Join(f.dir, f.listName)
	info, err := os.Lstat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	} else if err != nil {
		return nil, newError(path, err)
	}
	foreign := newError(path, fmt.Errorf("%w: it is no list of the files of an earlier run", ErrForeign))
	if !info.Mode().IsRegular() || info.Size() > maxList {
		return nil, foreign
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, newError(path, err)
	}
	out := map[string]string{}
	for line := range strings.Lines(string(text)) {
		sum, name, ok := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		if !ok || len(sum) != 2*sha256.Size || name != filepath.Base(name) {
			return nil, foreign
		}
		out[name] = sum
	}
	return out, nil
}

// Write replaces the last set of files by a new one. All are written under other names
// first, so that an error there leaves everything as it was. The first error is returned,
// an [*Error] where it is of a file.
func (f *Folder) Write(ctx context.Context, files ...Content) (err error) {
	var names []string
	for _, c := range files {
		names = append(names, c.Name)
	}
	if err := f.check(names); err != nil {
		return err
	}
	var pending []*File
	defer func() {
		for _, p := range pending {
			err = errors.Join(err, p.Cleanup())
		}
	}()
	var list strings.Builder
	add := func(c Content) error {
		if err := ctx.Err(); err != nil {
			return err
		}
		p, err := Create(filepath.Join(f.dir, c.Name), 0o666)
		if err != nil {
			return err
		}
		pending = append(pending, p)
		h := sha256.New()
		buf := bufio.NewWriterSize(io.MultiWriter(p, h), 1<<16)
		if err := c.Write(buf); err != nil {
			return newError(p.path, err)
		}
		if err := buf.Flush(); err != nil {
			return err
		}
		fmt.Fprintf(&list, "%x  %s\n", h.Sum(nil), c.Name)
		return p.finish()
	}
	for _, c := range files {
		if err := add(c); err != nil {
			return err
		}
	}
	text := list.String()
	if err := add(Content{f.listName, func(w io.Writer) error { _, err := io.WriteString(w, text); return err }}); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return f.exchange(pending)
}

// exchange removes the last set, and brings the new list and then the new files to their
// places. So whatever stands there is at any time in the list that stands there.
func (f *Folder) exchange(pending []*File) error {
	old, err := f.list()
	if err != nil {
		return err
	}
	for _, name := range slices.Sorted(maps.Keys(old)) {
		if !f.ours(name, old) {
			continue
		}
		if err := os.Remove(filepath.Join(f.dir, name)); err != nil {
			return newError(filepath.Join(f.dir, name), err)
		}
		if !slices.ContainsFunc(pending, func(p *File) bool { return filepath.Base(p.path) == name }) {
			f.removed = append(f.removed, name)
		}
	}
	f.wrote = true
	last := len(pending) - 1
	for _, p := range append(pending[last:], pending[:last]...) {
		if err := p.rename(); err != nil {
			return err
		}
	}
	return nil
}
