// Package sampling finds how likely every finding is: it examines samples of what may be wrong
// with the settings, the mounting, the registration of the scans and the scans themselves,
// and counts in how many of them a finding stands.
//
// A sample is cheap: the casts are bent and moved, not read and indexed anew; where they seat
// and which teeth hold foil is solved on the gaps around the closed position, which change
// linearly with small motions; the movements are closed exactly, at the stations that
// findings live on and no others.
package sampling
