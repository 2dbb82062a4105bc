//go:build unix

package main

import "golang.org/x/sys/unix"

// noCoreFile forbids images of memory after a crash. Where it fails the system decides.
func noCoreFile() { _ = unix.Setrlimit(unix.RLIMIT_CORE, &unix.Rlimit{}) }
