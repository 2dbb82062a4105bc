// Package notices holds the licences of everything that the command contains.
package notices

import _ "embed"

//go:generate go run ./collect

//go:embed THIRD_PARTY.md
var text string

// Text returns the notices as Markdown: what the command contains, under which
// licences, and their texts.
func Text() string { return text }
