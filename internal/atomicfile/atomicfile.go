// Package atomicfile writes files that appear whole or not at all, on every system.
package atomicfile

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
)

// File is a file that is being written under another name beside its place.
type File struct {
	*os.File
	path string
	done bool
}

// Create begins a file. perm are its permissions, less the umask. The caller must
// call [File.Cleanup] in the end.
func Create(path string, perm fs.FileMode) (*File, error) {
	dir, base := filepath.Split(path)
	for try := 0; ; try++ {
		// The number is to be unlike those of other programs at work; it does not
		// reach any result.
		name := filepath.Join(dir, fmt.Sprintf(".%s%d", base, rand.Uint64()))
		f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, perm)
		if errors.Is(err, fs.ErrExist) && try < 100 {
			continue
		}
		if err != nil {
			return nil, err
		}
		return &File{File: f, path: path}, nil
	}
}

// Replace ends the writing: the file comes to its place, instead of one that was
// there, with all its content on the disk.
func (f *File) Replace() error {
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), f.path); err != nil {
		return err
	}
	f.done = true
	return nil
}

// Cleanup takes away what was written, unless it was brought to its place.
func (f *File) Cleanup() error {
	if f.done {
		return nil
	}
	f.done = true
	err := f.Close()
	if errors.Is(err, fs.ErrClosed) {
		err = nil
	}
	return errors.Join(err, os.Remove(f.Name()))
}

// WriteFile writes a whole file.
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
