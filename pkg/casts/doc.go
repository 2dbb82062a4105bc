// Package casts holds scanned arches that are loaded, labelled and mounted: what every
// examination of an occlusion begins with. A [Scan] is an arch as it came, a [Cast] the
// arch in the articulator frame with its teeth and an index to search it, and [Casts]
// are the two together.
package casts
