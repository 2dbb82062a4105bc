package atomicfile

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// removeOpen says that an open file can be renamed and removed.
const removeOpen = false

// diskFull is one more error of a full disk.
const diskFull = windows.ERROR_DISK_FULL

// tryLock locks an open file; [errLocked] where another process did. What is locked is a
// byte far behind the content, since on this system nobody may write what is locked.
func tryLock(f *os.File) error {
	at := windows.Overlapped{OffsetHigh: 1 << 30}
	err := windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, &at)
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) || errors.Is(err, windows.ERROR_IO_PENDING) {
		return errLocked
	}
	return err
}
