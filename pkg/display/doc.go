// Package display prepares what pictures of an examination need beside its findings:
// thinned surfaces, how far they are apart, and the room of a tooth.
package display
