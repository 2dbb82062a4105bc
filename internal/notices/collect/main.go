// Command collect writes THIRD_PARTY.md, the licences of everything that the
// command contains: the Go modules that any of its builds links, Go itself, and
// the npm packages in the 3D view. Texts come from the module cache and from
// node_modules, which go generate ./pkg/report fills.
//
//	go generate ./internal/notices
package main

import (
	"fmt"
	"os"
)

func main() {
	text, err := notices("../..")
	if err == nil {
		err = os.WriteFile("THIRD_PARTY.md", []byte(text), 0o666)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "collect:", err)
		os.Exit(1)
	}
}
