// Package mounting judges whether the mounting of two casts can be trusted, by where they
// touch when they close.
package mounting
