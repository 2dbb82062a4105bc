// Package atomicfile writes files that appear whole or not at all, on every system,
// and nothing over a file that it did not write.
package atomicfile

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
)

// Temporary files have names of this form. They are locked while they are written, so
// that those left by a process that was killed are told from those in work.
const (
	temporaryPrefix = ".cusptrace-"
	temporarySuffix = ".tmp"
)

// File is a file that is being written under another name beside its place.
type File struct {
	*os.File
	path string // as the caller named it
	at   string // where it comes to stand: path, or what a link there leads to
	done bool
}

// Create begins a file. perm are its permissions, less the umask. A link is followed; a
// link that leads nowhere and whatever is no file are refused. The caller must call
// [File.Cleanup] in the end. Temporary files that a killed process left in the folder are
// removed. The error is an [*Error].
func Create(path string, perm fs.FileMode) (*File, error) {
	at, err := place(path)
	if err != nil {
		return nil, newError(path, err)
	}
	dir := filepath.Dir(at)
	clearStale(dir)
	for try := 0; ; try++ {
		f, err := temporary(dir, perm)
		if errors.Is(err, fs.ErrExist) && try < 100 {
			continue
		}
		if err != nil {
			return nil, newError(path, err)
		}
		return &File{File: f, path: path, at: at}, nil
	}
}

// place is where a file named path comes to stand.
func place(path string) (string, error) {
	info, err := os.Lstat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return path, nil
	} else if err != nil {
		return "", err
	}
	at := path
	if info.Mode()&fs.ModeSymlink != 0 {
		if at, err = filepath.EvalSymlinks(path); errors.Is(err, fs.ErrNotExist) {
			return "", errDangling
		} else if err != nil {
			return "", err
		}
		if info, err = os.Lstat(at); err != nil {
			return "", err
		}
	}
	switch {
	case info.IsDir():
		return "", errFolder
	case !info.Mode().IsRegular():
		return "", errNoFile
	}
	return at, nil
}

// temporary makes a locked file of a new name; [fs.ErrExist] asks for another try.
func temporary(dir string, perm fs.FileMode) (*os.File, error) {
	// The number is to be unlike those of other programs at work; it does not
	// reach any result.
	name := filepath.Join(dir, fmt.Sprintf("%s%016x%s", temporaryPrefix, rand.Uint64(), temporarySuffix))
	f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, perm)
	if err != nil {
		return nil, err
	}
	// Before it was locked another process may have taken it for one left behind.
	if err := tryLock(f); errors.Is(err, errLocked) || !stands(f) {
		return nil, errors.Join(fs.ErrExist, f.Close())
	}
	return f, nil
}

// stands reports whether an open file still has its name.
func stands(f *os.File) bool {
	now, err := os.Lstat(f.Name())
	if err != nil {
		return false
	}
	opened, err := f.Stat()
	return err == nil && os.SameFile(now, opened)
}

// clearStale removes the temporary files of processes that are no more. What cannot be
// removed stays: it is in nobody's way.
func clearStale(dir string) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return
	}
	for _, e := range entries {
		if !e.Type().IsRegular() || !strings.HasPrefix(e.Name(), temporaryPrefix) || !strings.HasSuffix(e.Name(), temporarySuffix) {
			continue
		}
		name := filepath.Join(dir, e.Name())
		f, err := os.OpenFile(name, os.O_RDWR, 0)
		if err != nil {
			continue
		}
		stale := tryLock(f) == nil && stands(f)
		if stale && !removeOpen {
			_ = f.Close()
		}
		if stale {
			_ = os.Remove(name)
		}
		_ = f.Close()
	}
}

// Write writes to the file. The error is an [*Error].
func (f *File) Write(b []byte) (int, error) {
	n, err := f.File.Write(b)
	return n, newError(f.path, err)
}

// WriteString writes to the file. The error is an [*Error].
func (f *File) WriteString(s string) (int, error) { return f.Write([]byte(s)) }

// Replace ends the writing: the file comes to its place, instead of one that was
// there, with all its content on the disk. The error is an [*Error].
func (f *File) Replace() error {
	if err := f.finish(); err != nil {
		return err
	}
	return f.rename()
}

// finish brings the content to the disk.
func (f *File) finish() error {
	if err := f.Sync(); err != nil {
		return newError(f.path, err)
	}
	if removeOpen { // it stays locked until it is in its place
		return nil
	}
	return newError(f.path, f.Close())
}

// rename brings a finished file to its place.
func (f *File) rename() error {
	if err := os.Rename(f.Name(), f.at); err != nil {
		return newError(f.path, err)
	}
	f.done = true
	if !removeOpen {
		return nil
	}
	return newError(f.path, f.Close())
}

// Cleanup takes away what was written, unless it was brought to its place.
func (f *File) Cleanup() error {
	if f.done {
		return nil
	}
	f.done = true
	var err error
	if removeOpen {
		err = os.Remove(f.Name())
	}
	if e := f.Close(); !errors.Is(e, fs.ErrClosed) {
		err = errors.Join(err, e)
	}
	if !removeOpen {
		err = errors.Join(err, os.Remove(f.Name()))
	}
	return newError(f.path, err)
}

// WriteFile writes a whole file as [Create] and [File.Replace] do.
func WriteFile(path string, data []byte, perm fs.FileMode) (err error) {
	f, err := Create(path, perm)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Cleanup()) }()
	if _, err := f.Write(data); err != nil {
		return err
	}
	return f.Replace()
}
