// Package settle brings two casts from the relation in which they were scanned to where
// they seat: out of each other by the least movement, and pressed together until the
// contacts lock or slide away.
package settle
