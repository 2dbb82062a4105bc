//go:build darwin || dragonfly || freebsd || illumos || linux || netbsd || openbsd

package atomicfile

import (
	"errors"
	"os"
	"syscall"

	"golang.org/x/sys/unix"
)

// removeOpen says that an open file can be renamed and removed.
const removeOpen = true

// diskFull is one more error of a full disk.
const diskFull = syscall.ENOSPC

// tryLock locks an open file; [errLocked] where another process did. File systems that
// know no locks count as locked by nobody.
func tryLock(f *os.File) error {
	for {
		err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
		switch {
		case errors.Is(err, unix.EINTR):
			continue
		case errors.Is(err, unix.EWOULDBLOCK):
			return errLocked
		}
		return err
	}
}
