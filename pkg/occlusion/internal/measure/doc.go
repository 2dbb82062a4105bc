// Package measure takes measurements of arches, and follows supporting cusps over the teeth
// that oppose them.
package measure
