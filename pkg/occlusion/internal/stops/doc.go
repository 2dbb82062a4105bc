// Package stops finds where teeth hold the closed casts, what each of these centric stops
// does to its tooth, and what thin foil would do there.
package stops
