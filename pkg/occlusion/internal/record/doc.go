// Package record compares what was seen in the mouth with what the casts show.
package record
