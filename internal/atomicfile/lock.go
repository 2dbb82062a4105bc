package atomicfile

import (
	"errors"
	"fmt"
	"hash/fnv"
	"os"
	"path/filepath"
)

// errLocked says that another process holds the lock of a file.
var errLocked = errors.New("locked")

// Lock is held by one process at a time; the system releases it when the process ends,
// however it ends.
type Lock struct{ f *os.File }

// LockFile makes this process the only one to write a file until [Lock.Close]. It refuses
// what [Create] would refuse. The error is an [*Error], wrapping [ErrBusy] where another
// process holds it. On systems without locks everybody gets one.
func LockFile(path string) (*Lock, error) {
	if _, err := place(path); err != nil {
		return nil, newError(path, err)
	}
	h := fnv.New64a()
	h.Write([]byte(filepath.Base(path))) // never fails
	l, err := lock(filepath.Join(filepath.Dir(path), fmt.Sprintf("%s%016x.lock", temporaryPrefix, h.Sum64())))
	return l, newError(path, err)
}

func lock(name string) (*Lock, error) {
	for {
		f, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE, 0o666)
		if err != nil {
			return nil, err
		}
		switch err := tryLock(f); {
		case errors.Is(err, errLocked):
			return nil, errors.Join(ErrBusy, f.Close())
		case !stands(f): // the last holder has just removed it
			_ = f.Close()
			continue
		}
		return &Lock{f}, nil
	}
}

// Close ends the hold. A second call does nothing.
func (l *Lock) Close() error {
	if l.f == nil {
		return nil
	}
	f := l.f
	l.f = nil
	if removeOpen { // before it is free, so that nobody locks what is being removed
		return errors.Join(os.Remove(f.Name()), f.Close())
	}
	if err := f.Close(); err != nil {
		return err
	}
	_ = os.Remove(f.Name()) // the next holder may have it
	return nil
}
