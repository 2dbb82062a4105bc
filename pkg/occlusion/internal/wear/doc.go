// Package wear finds wear facets and the movements that would grind them.
package wear
