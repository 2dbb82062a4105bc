// Package articulate puts two loose arches together by their shape alone, as hands do:
// whatever frames they come in, it finds the relation in which they fit best.
package articulate
