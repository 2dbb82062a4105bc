package serve

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"sync"

	"github.com/cusptrace/cusptrace/internal/atomicfile"
)

// folderPrefix begins the names of private folders.
const folderPrefix = "cusptrace-serve-"

// errClosed says that the private folder is gone.
var errClosed = errors.New("the program is ending")

// folder is a private folder, which nobody else may enter. It goes when it is closed, and by the next
// start where the program was killed: a lock, which the system releases, tells.
type folder struct {
	dir  string
	lock *atomicfile.Lock
	mu   sync.RWMutex // held by who writes; for writing by who removes
	gone bool
}

// openFolder makes a private folder below base, and removes those that killed programs left there.
func openFolder(base string) (*folder, error) {
	var last error
	for range 5 { // another start may take a folder that is not locked yet for one that was left
		dir, err := os.MkdirTemp(base, folderPrefix)
		if err != nil {
			return nil, err
		}
		l, err := atomicfile.LockFile(lockOf(dir))
		if err != nil {
			last = errors.Join(err, os.RemoveAll(dir))
			continue
		}
		return &folder{dir: dir, lock: l}, sweep(base, dir)
	}
	return nil, last
}

func lockOf(dir string) string { return filepath.Join(dir, "serve") }

// sweep removes private folders that are held by no program. What others could enter is none of
// ours: it is left alone, lest a lock is made where they want one.
func sweep(base, own string) error {
	entries, err := os.ReadDir(base)
	if err != nil {
		return err
	}
	for _, e := range entries {
		dir := filepath.Join(base, e.Name())
		info, err := e.Info()
		if err != nil || dir == own || !e.IsDir() || len(e.Name()) <= len(folderPrefix) || e.Name()[:len(folderPrefix)] != folderPrefix ||
			runtime.GOOS != "windows" && info.Mode().Perm() != 0o700 {
			continue
		}
		l, err := atomicfile.LockFile(lockOf(dir))
		if err != nil {
			continue // it is in use, or another person's
		}
		if err := errors.Join(l.Close(), os.RemoveAll(dir)); err != nil {
			return err
		}
	}
	return nil
}

// path is that of a file in the folder. The name is one of the server's own.
func (f *folder) path(name string) string { return filepath.Join(f.dir, name) }

// write calls a function that writes into the folder, while it stands.
func (f *folder) write(do func() error) error {
	f.mu.RLock()
	defer f.mu.RUnlock()
	if f.gone {
		return errClosed
	}
	return do()
}

// store writes what a reader gives into a file.
func (f *folder) store(name string, r io.Reader) error {
	return f.write(func() (err error) {
		to, err := os.OpenFile(f.path(name), os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
		if err != nil {
			return err
		}
		_, err = io.Copy(to, r)
		return errors.Join(err, to.Close())
	})
}

// clear removes all files of a case.
func (f *folder) clear() error {
	return f.write(func() error {
		entries, err := os.ReadDir(f.dir)
		for _, e := range entries {
			if e.Name()[0] != '.' { // the lock
				err = errors.Join(err, os.RemoveAll(f.path(e.Name())))
			}
		}
		return err
	})
}

// close removes the folder, when nobody writes any more.
func (f *folder) close() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.gone {
		return nil
	}
	f.gone = true
	return errors.Join(f.lock.Close(), os.RemoveAll(f.dir))
}
