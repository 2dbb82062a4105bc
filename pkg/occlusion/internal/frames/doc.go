// Package frames takes casts through positions: one frame of a movement with its closing,
// contacts and clearances, and the same without the teeth that are in the way.
package frames
