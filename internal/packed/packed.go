// Package packed keeps long texts small in a program: they are embedded compressed.
package packed

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
)

// Pack compresses a text (gzip, RFC 1952).
func Pack(text []byte) []byte {
	var out bytes.Buffer
	z, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err == nil {
		_, err = z.Write(text)
	}
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		panic(err) // a buffer takes everything
	}
	return out.Bytes()
}

// Unpack gives the text back. It panics where what was embedded is damaged: that is a fault of
// the program, not of its input.
func Unpack(packed []byte) []byte {
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		panic(fmt.Sprintf("packed: %v", err))
	}
	text, err := io.ReadAll(z)
	if err != nil {
		panic(fmt.Sprintf("packed: %v", err))
	}
	return text
}
