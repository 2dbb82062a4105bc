// Package judge says what a movement shows: who guides it, how the posterior teeth disclude,
// what interferes, and what in the shape of the casts explains it.
package judge
