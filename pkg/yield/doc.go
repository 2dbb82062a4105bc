// Package yield lets the teeth of closed casts give in their sockets while the closing
// force rises, so that more and more contacts come to carry.
package yield
