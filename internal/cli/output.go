package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/cusptrace/cusptrace/internal/atomicfile"
	"github.com/cusptrace/cusptrace/pkg/report"
)

// holdFile takes hold of files that a command is to write, before any work. They must not
// be files that it reads, and must not exist unless the user says so with --replace.
func holdFile(g *gate, inputs []string, replace bool, paths ...string) error {
	if err := protect(inputs, paths); err != nil {
		return err
	}
	for _, path := range paths {
		switch info, err := os.Lstat(path); {
		case errors.Is(err, os.ErrNotExist):
		case err != nil:
			return inputError{fmt.Errorf("cannot write %w; choose another with -o", err)}
		case info.IsDir():
			return inputError{fmt.Errorf("%s is a folder; name a file with -o", path)}
		case !replace:
			return inputError{fmt.Errorf("%s exists; choose another with -o, or say with --replace that it may go", path)}
		}
	}
	return hold(g, func() (io.Closer, error) { return atomicfile.LockFile(paths[0]) })
}

// holdFolder takes hold of a folder into which a command is to write a set of files,
// before any work.
func holdFolder[F interface {
	Paths() ([]string, error)
	Close() error
}](g *gate, inputs []string, open func() (F, error)) (f F, err error) {
	err = hold(g, func() (_ io.Closer, err error) {
		if f, err = open(); err != nil {
			return nil, err
		}
		paths, err := f.Paths()
		if err == nil {
			err = protect(inputs, paths)
		}
		if err != nil {
			return nil, errors.Join(err, f.Close())
		}
		return f, nil
	})
	return f, err
}

// holdResults takes hold of a folder for the results of an examination.
func holdResults(g *gate, inputs []string, dir string, more ...string) (*report.Folder, error) {
	return holdFolder(g, inputs, func() (*report.Folder, error) { return report.OpenFolder(dir, more...) })
}

// hold lets the gate hold what open opens, until the command is over.
func hold(g *gate, open func() (io.Closer, error)) error {
	err := g.hold(open)
	var output *atomicfile.Error
	if errors.As(err, &output) {
		return inputError{fmt.Errorf("%w with -o", err)}
	}
	return err
}

// protect says that an output is one of the inputs: the same file, by whatever name.
func protect(inputs, outputs []string) error {
	for _, out := range outputs {
		to, err := os.Stat(out)
		if err != nil {
			continue // nothing is there that could be lost
		}
		for _, in := range inputs {
			from, err := os.Stat(in)
			if err != nil || !os.SameFile(from, to) {
				continue
			}
			if in == out {
				return inputError{fmt.Errorf("%s is read and would be written over; choose another place with -o", in)}
			}
			return inputError{fmt.Errorf("%s is the file that is read as %s and would be written over; choose another place with -o", out, in)}
		}
	}
	return nil
}

// sayRemoved tells which results of an earlier examination went.
func sayRemoved(w io.Writer, f *report.Folder) {
	if names := f.Removed(); len(names) > 0 {
		fmt.Fprintf(w, "removed from %s, of the examination before: %s\n", f.Dir(), strings.Join(names, ", "))
	}
}
