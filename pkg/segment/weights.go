package segment

// weights are what evidence for a row of teeth weighs, in units of half a squared standard
// deviation where nothing else is said. docs/finding-teeth.md shows what a fifth more or less of
// each does on dentitions on which they were not set.
type weights struct {
	// Widths vary by 8 to 11 % of themselves among people once the size of the whole dentition is
	// taken out (handbook ranges; from memory), sizes of whole dentitions by 5 to 7 %.
	width, scale float64
	// A border that follows no valley at all is as unlikely as a width off by three standard
	// deviations.
	seam float64
	// A column of valley right through a tooth: fissures and furrows do run through, so that a
	// millimetre of one weighs half as much as a missing border. A seam counts as one below insideSeam.
	inside, insideSeam float64
	// A millimetre of tooth where no crown stands, and of crown that belongs to no tooth: a
	// forgotten molar weighs more than any name. Ridges behind the last tooth look like crowns
	// over a few mm, so the second weighs less.
	stand, empty float64
	// The room left by a missing tooth shrinks by drift: mm, and the most that closed room costs.
	room, closed float64
	// Space between neighbours, mm: diastemata of more than 3 mm are rare.
	space float64
	// The midline from the middle of the curve, mm.
	midline float64
	// A pixel's evidence: some forty neighbours, a fifth of a molar, say the same.
	looks float64
	// The most that the picture says against one tooth: it may be wrong about it altogether.
	most float64
	// Shares of a pixel below least do not count more: nets are sure of themselves.
	least float64
	// A pixel of tooth that no tooth takes, as evidence.
	idle float64
	// A border, for every pixel of tooth that lies at it.
	border float64
	// An area beyond the usual one, share: the spread of width times depth.
	area float64
	// A third molar: what lies behind the second is more often tissue.
	third float64
	// The share of the usual area that is seen at least, and its spread: anterior teeth that lean are
	// seen in part.
	bare, bareSpread float64
}

// usualWeights are set on the real scans of persons 1 to 30 and on casts of package typodont.
func usualWeights() weights {
	return weights{
		width: 0.11, scale: 0.07, seam: 5, inside: 0.75, insideSeam: 0.22, stand: 1.2, empty: 0.9,
		room: 3, closed: 6, space: 1.5, midline: 2.5,
		looks: 0.025, most: 7, least: 0.05, idle: 6, border: 0.10, area: 0.13, third: 3, bare: 0.45, bareSpread: 0.2,
	}
}
