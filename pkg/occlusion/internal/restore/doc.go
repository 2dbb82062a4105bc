// Package restore says what to heed in restoring a tooth: contacts to keep, contacts to
// avoid, the guidance it takes part in and the room that it has.
package restore
