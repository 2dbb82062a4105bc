//go:build !unix

package main

// noCoreFile does nothing: this system writes no images of memory unasked.
func noCoreFile() {}
