// Package serve is the work of the command in a page on this machine: a server that
// answers to one browser of the person who started it and to nobody else.
//
// The guards ([guard]) stand before everything. All that a case is lives in the server, so
// that a page may be loaded again or opened twice; the page is plain forms, and a form that
// was made before the case changed is refused. Scans lie in a private folder under names of
// the server's own, and an examination goes the way of the command: from a case file in that
// folder, so that a saved case gives the same bytes there.
package serve
