//go:build !(darwin || dragonfly || freebsd || illumos || linux || netbsd || openbsd || windows)

package atomicfile

import (
	"errors"
	"os"
	"syscall"
)

const removeOpen = true

const diskFull = syscall.ENOSPC

// tryLock says that this system knows no locks.
func tryLock(*os.File) error { return errors.ErrUnsupported }
