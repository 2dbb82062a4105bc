package typodont

// backWall is the wall of a premolar or molar: bulging at the cervical third on
// the buccal side, in the middle on the lingual one, widest near the contact
// points, about two thirds up. Lean is how much the buccal side leans inwards: about
// its slope at mid-crown in half depths a crown length.
func (c *crown) backWall(square, skew, taper, lean, lingualTop, neck float64) *oval {
	w := &oval{
		mesial: scaled(c.md/2, [2]float64{0, neck}, [2]float64{0.35, 0.90}, [2]float64{0.66, 1}, [2]float64{0.82, 0.975},
			[2]float64{1, 0.89}, [2]float64{1.15, 0.8}),
		buccal: scaled(c.bl/2, [2]float64{0, 0.91}, [2]float64{0.2, 1}, [2]float64{0.5, 1 - 0.27*lean},
			[2]float64{0.75, 1 - 0.52*lean}, [2]float64{1, 1 - 0.72*lean}, [2]float64{1.15, 0.9 - 0.75*lean}),
		lingual: scaled(-c.bl/2, [2]float64{0, 0.86}, [2]float64{0.42, 1}, [2]float64{0.7, 0.94},
			[2]float64{0.85, lingualTop + 0.45*(1-lingualTop)}, [2]float64{1, lingualTop},
			[2]float64{1.15, lingualTop - 0.12}),
		square: square, skew: skew, taper: taper,
	}
	c.wall = w
	return w
}

func upperPremolar(c *crown, place int) {
	c.papilla = 4.6
	lean := 0.80
	if place == 5 {
		lean = 0.82
	}
	w := c.backWall(0.30, 0, 0.03, lean, 0.80, 0.74)
	shape := cusp{in: 0.60, out: 1.05, mesial: 0.50, distal: 0.54, hollow: 0.22, tip: 0.55}
	inner := cusp{in: 0.52, out: 1.0, mesial: 0.46, distal: 0.46, turn: pi, hollow: 0.16, tip: 0.65, supporting: true}
	drop := -0.85
	if place == 5 {
		drop = -0.35
		shape.mesial, shape.distal, shape.tip = 0.46, 0.48, 0.6
		w.taper = 0.012
	}
	c.point("buccal", 0.0, 0.50, 0, shape)
	c.point("palatal", 0.12, -0.52, drop, inner)
	c.crest(0.80, 0.42, -1.25, 0.76, -0.48, -1.45, 0.12, 0.62, 0.9, 0.45) // mesial marginal ridge
	c.crest(-0.80, 0.42, -1.25, -0.74, -0.48, -1.45, 0.12, 0.9, 0.62, 0.45)
	c.cut(0.30, 0.45, 0.22, [2]float64{0.48, -0.02}, [2]float64{0.0, -0.05}, [2]float64{-0.46, -0.02})
	c.cut(0.0, 0.45, 0.22, [2]float64{-0.46, -0.02}, [2]float64{0.0, -0.05})
	if place == 4 {
		c.cut(0.24, 0.38, 0, [2]float64{0.48, -0.02}, [2]float64{0.78, -0.06}, [2]float64{1.05, -0.08}) // mesial marginal groove
	} else {
		c.fine([2]float64{0.12, -0.04}, [2]float64{0.22, 0.22})
		c.fine([2]float64{-0.12, -0.04}, [2]float64{-0.2, -0.25})
	}
	c.fine([2]float64{0.48, -0.02}, [2]float64{0.58, 0.20}, [2]float64{0.56, 0.36})
	c.fine([2]float64{0.48, -0.02}, [2]float64{0.56, -0.26})
	c.fine([2]float64{-0.46, -0.02}, [2]float64{-0.58, 0.20}, [2]float64{-0.56, 0.36})
	c.fine([2]float64{-0.46, -0.02}, [2]float64{-0.54, -0.26})
	w.dents = []dent{
		{m: 0.52 * c.md / 2, u: 0.72, wm: 0.30 * c.md / 2, wu: 0.4, deep: 0.16, buccal: true},
		{m: -0.52 * c.md / 2, u: 0.72, wm: 0.30 * c.md / 2, wu: 0.4, deep: 0.16, buccal: true},
	}
	c.name("mesial fossa", 0.48, -0.02)
	c.name("distal fossa", -0.46, -0.02)
	c.name("mesial marginal ridge", 0.78, 0)
	c.name("distal marginal ridge", -0.78, 0)
}

func lowerPremolar(c *crown, place int) {
	c.papilla = 4.6
	lean := 0.30
	if place == 5 {
		lean = 0.38
	}
	w := c.backWall(0.22, 0, 0.025, lean, 0.86, 0.74)
	if place == 4 {
		// The triangular ridge falls by 40°, so that the small lingual cusp stands out behind it.
		c.point("buccal", 0.02, 0.16, 0, cusp{in: 0.75, out: 0.85, mesial: 0.50, distal: 0.56, hollow: 0.20, tip: 0.6, supporting: true})
		c.point("lingual", 0.10, -0.66, -1.45, cusp{in: 0.5, out: 0.9, mesial: 0.6, distal: 0.6, turn: pi, hollow: 0.1, tip: 0.5})
		c.crest(0.76, 0.06, -1.45, 0.44, -0.62, -2.15, 0.05, 0.55, 0.9, 0.45)
		c.crest(-0.78, 0.06, -1.35, -0.50, -0.62, -1.95, 0.05, 0.9, 0.55, 0.45)
		c.crest(0.02, 0.10, -0.2, 0.08, -0.60, -1.8, 0.45, 0.5, 0.5, 0.5) // transverse ridge
		c.cut(0.22, 0.42, 0.24, [2]float64{0.44, -0.20}, [2]float64{0.34, -0.44}, [2]float64{0.42, -0.75}, [2]float64{0.44, -1.1})
		c.cut(0.22, 0.42, 0.28, [2]float64{-0.42, -0.22}, [2]float64{-0.20, -0.38})
		c.fine([2]float64{0.44, -0.20}, [2]float64{0.60, 0.10})
		c.fine([2]float64{-0.42, -0.22}, [2]float64{-0.58, 0.08})
		c.fine([2]float64{-0.42, -0.22}, [2]float64{-0.50, -0.46})
		c.name("mesial fossa", 0.44, -0.20)
		c.name("distal fossa", -0.42, -0.22)
		c.name("mesial marginal ridge", 0.68, -0.16)
		c.name("distal marginal ridge", -0.70, -0.16)
	} else {
		w.square, w.taper = 0.36, -0.008
		c.point("buccal", 0.04, 0.28, 0, cusp{in: 0.55, out: 0.85, mesial: 0.46, distal: 0.50, hollow: 0.20, tip: 0.65, supporting: true})
		c.point("mesiolingual", 0.36, -0.62, -0.75, cusp{in: 0.52, out: 0.95, mesial: 0.55, distal: 0.55, turn: pi, hollow: 0.15, tip: 0.5})
		c.point("distolingual", -0.44, -0.60, -1.05, cusp{in: 0.5, out: 0.95, mesial: 0.6, distal: 0.55, turn: pi, hollow: 0.12, tip: 0.5})
		c.crest(0.80, 0.24, -1.2, 0.76, -0.44, -1.4, 0.1, 0.6, 0.9, 0.45)
		c.crest(-0.80, 0.24, -1.2, -0.78, -0.44, -1.55, 0.1, 0.9, 0.6, 0.45)
		c.cut(0.26, 0.42, 0.20, [2]float64{0.50, -0.10}, [2]float64{0.0, -0.16}, [2]float64{-0.48, -0.12}) // Y pattern
		c.cut(0.26, 0.42, 0.16, [2]float64{-0.03, -0.16}, [2]float64{-0.04, -0.60}, [2]float64{-0.04, -1.1})
		c.cut(0.0, 0.42, 0.20, [2]float64{-0.48, -0.12}, [2]float64{0, -0.16})
		c.fine([2]float64{0.50, -0.10}, [2]float64{0.62, 0.16})
		c.fine([2]float64{0.50, -0.10}, [2]float64{0.62, -0.34})
		c.fine([2]float64{-0.48, -0.12}, [2]float64{-0.62, 0.14})
		c.fine([2]float64{-0.48, -0.12}, [2]float64{-0.62, -0.34})
		c.name("mesial fossa", 0.50, -0.10)
		c.name("distal fossa", -0.48, -0.12)
		c.name("central fossa", -0.02, -0.16)
		c.name("mesial marginal ridge", 0.78, -0.1)
		c.name("distal marginal ridge", -0.78, -0.1)
	}
	w.dents = []dent{
		{m: 0.50 * c.md / 2, u: 0.72, wm: 0.30 * c.md / 2, wu: 0.4, deep: 0.14, buccal: true},
		{m: -0.50 * c.md / 2, u: 0.72, wm: 0.30 * c.md / 2, wu: 0.4, deep: 0.14, buccal: true},
	}
}

func upperMolar(c *crown, place int) {
	c.papilla = 4.4
	w := c.backWall(0.52, 0.16, -0.006, 0.58, 0.80, 0.80)
	outer := cusp{in: 0.60, out: 1.05, mesial: 0.52, distal: 0.54, hollow: 0.24, tip: 0.6}
	inner := cusp{in: 0.54, out: 0.95, mesial: 0.50, distal: 0.50, turn: pi, hollow: 0.15, tip: 0.8, supporting: true}
	dl := -0.55
	if place >= 7 {
		dl = -0.95
		w.skew, w.taper = 0.24, 0.012
	}
	if place == 8 {
		dl = -1.3
	}
	c.point("mesiobuccal", 0.50, 0.52, -0.05, outer)
	c.point("distobuccal", -0.40, 0.50, -0.25, outer)
	c.point("mesiopalatal", 0.26, -0.50, 0, inner)
	small := inner
	small.tip, small.in, small.turn = 0.6, 0.5, pi+0.35
	c.point("distopalatal", -0.58, -0.54, dl, small)
	// Oblique ridge from the mesiopalatal to the distobuccal cusp; marginal ridges.
	c.crest(0.20, -0.42, -0.25, -0.36, 0.42, -0.35, 0.62, 0.62, 0.62, 0.45)
	c.crest(0.86, 0.44, -1.05, 0.70, -0.46, -1.15, 0.12, 0.62, 0.9, 0.5)
	c.crest(-0.80, 0.40, -1.2, -0.90, -0.40, -1.4, 0.1, 0.9, 0.60, 0.5)
	c.cut(0.34, 0.52, 0.16, [2]float64{0.64, 0.02}, [2]float64{0.34, 0.0}, [2]float64{0.04, 0.08})
	c.cut(0.34, 0.50, 0.24, [2]float64{0.04, 0.08}, [2]float64{0.05, 0.34}, [2]float64{0.04, 0.64}, [2]float64{0.03, 1.1}) // buccal groove
	// over the oblique ridge
	c.cut(0.10, 0.45, 0, [2]float64{0.04, 0.08}, [2]float64{-0.14, -0.04}, [2]float64{-0.56, -0.02})
	c.cut(0.34, 0.50, 0.22, [2]float64{-0.62, 0.04}, [2]float64{-0.42, -0.22}, [2]float64{-0.20, -0.62}, [2]float64{-0.20, -1.1})
	c.fine([2]float64{0.64, 0.02}, [2]float64{0.76, 0.24}, [2]float64{0.74, 0.40})
	c.fine([2]float64{0.64, 0.02}, [2]float64{0.66, -0.26}, [2]float64{0.60, -0.38})
	c.fine([2]float64{0.64, 0.02}, [2]float64{0.90, -0.02}, [2]float64{1.04, -0.04})
	c.fine([2]float64{0.30, 0.0}, [2]float64{0.40, 0.22})
	c.fine([2]float64{0.26, 0.0}, [2]float64{0.14, -0.20})
	c.fine([2]float64{-0.62, 0.04}, [2]float64{-0.72, 0.26})
	c.fine([2]float64{-0.62, 0.04}, [2]float64{-0.78, -0.18})
	c.fine([2]float64{0.04, 0.20}, [2]float64{-0.16, 0.28})
	groove := 0.34 // buccal; shallow on the second molar, which stands more upright than the first
	if place >= 7 {
		groove = 0.18
	}
	w.dents = []dent{
		{m: 0.03 * c.md / 2, u: 0.80, wm: 0.30 * c.md / 2, wu: 0.42, deep: groove, buccal: true},
		{m: -0.20 * c.md / 2, u: 0.82, wm: 0.24 * c.md / 2, wu: 0.40, deep: 0.30},
	}
	if place == 6 {
		w.dents = append(w.dents, dent{m: 0.42 * c.md / 2, u: 0.56, wm: 0.26 * c.md / 2, wu: 0.18, deep: -0.28}) // Carabelli
	}
	c.name("central fossa", 0.04, 0.08)
	c.name("mesial fossa", 0.64, 0.02)
	c.name("distal fossa", -0.62, 0.04)
	c.name("mesial marginal ridge", 0.80, 0)
	c.name("distal marginal ridge", -0.85, 0)
}

func lowerMolar(c *crown, place int) {
	c.papilla = 4.4
	w := c.backWall(0.55, -0.03, 0.008, 0.46, 0.86, 0.84)
	outer := cusp{in: 0.54, out: 0.82, mesial: 0.50, distal: 0.52, hollow: 0.22, tip: 0.75, supporting: true}
	inner := cusp{in: 0.58, out: 1.05, mesial: 0.54, distal: 0.54, turn: pi, hollow: 0.22, tip: 0.55}
	if place == 6 {
		third := outer
		third.tip, third.turn, third.in = 0.6, -0.6, 0.5
		c.point("mesiobuccal", 0.56, 0.42, 0, outer)
		c.point("distobuccal", -0.08, 0.44, -0.1, outer)
		c.point("distal", -0.66, 0.26, -0.4, third)
		c.point("mesiolingual", 0.50, -0.62, 0.0, inner)
		c.point("distolingual", -0.36, -0.62, -0.1, inner)
		c.cut(0.34, 0.50, 0.14, [2]float64{0.62, -0.08}, [2]float64{0.36, -0.12}, [2]float64{0.06, -0.08},
			[2]float64{-0.26, -0.12}, [2]float64{-0.62, -0.06})
		// mesiobuccal groove
		c.cut(0.32, 0.48, 0.14, [2]float64{0.14, -0.10}, [2]float64{0.24, 0.14}, [2]float64{0.24, 0.50}, [2]float64{0.24, 1.1})
		// distobuccal groove
		c.cut(0.30, 0.46, 0.10, [2]float64{-0.30, -0.12}, [2]float64{-0.40, 0.14}, [2]float64{-0.42, 0.44}, [2]float64{-0.46, 1.1})
		// lingual groove
		c.cut(0.32, 0.48, 0.10, [2]float64{0.04, -0.10}, [2]float64{0.06, -0.36}, [2]float64{0.07, -0.66}, [2]float64{0.07, -1.1})
		w.dents = []dent{
			{m: 0.24 * c.md / 2, u: 0.78, wm: 0.22 * c.md / 2, wu: 0.48, deep: 0.36, buccal: true},
			{m: -0.44 * c.md / 2, u: 0.80, wm: 0.20 * c.md / 2, wu: 0.40, deep: 0.26, buccal: true},
			{m: 0.07 * c.md / 2, u: 0.86, wm: 0.22 * c.md / 2, wu: 0.34, deep: 0.28},
		}
	} else {
		w.taper = 0
		c.point("mesiobuccal", 0.48, 0.44, 0, outer)
		c.point("distobuccal", -0.44, 0.44, -0.1, outer)
		c.point("mesiolingual", 0.46, -0.62, 0.0, inner)
		c.point("distolingual", -0.42, -0.62, -0.1, inner)
		c.cut(0.34, 0.50, 0.14, [2]float64{0.60, -0.08}, [2]float64{0.30, -0.12}, [2]float64{0.02, -0.08},
			[2]float64{-0.28, -0.12}, [2]float64{-0.60, -0.06})
		c.cut(0.34, 0.50, 0.16, [2]float64{0.02, -0.08}, [2]float64{0.04, 0.20}, [2]float64{0.03, 0.50}, [2]float64{0.03, 1.1})
		c.cut(0.32, 0.48, 0.0, [2]float64{0.02, -0.08}, [2]float64{0.02, -0.36}, [2]float64{0.02, -0.66}, [2]float64{0.02, -1.1})
		w.dents = []dent{
			{m: 0.03 * c.md / 2, u: 0.78, wm: 0.26 * c.md / 2, wu: 0.46, deep: 0.36, buccal: true},
			{m: 0.02 * c.md / 2, u: 0.86, wm: 0.22 * c.md / 2, wu: 0.34, deep: 0.28},
		}
	}
	c.crest(0.86, 0.34, -1.0, 0.84, -0.52, -1.0, 0.15, 0.62, 0.9, 0.5)
	c.crest(-0.90, 0.10, -1.15, -0.80, -0.52, -1.1, 0.12, 0.9, 0.62, 0.5)
	c.fine([2]float64{0.62, -0.08}, [2]float64{0.76, 0.16}, [2]float64{0.76, 0.30})
	c.fine([2]float64{0.62, -0.08}, [2]float64{0.74, -0.34}, [2]float64{0.72, -0.46})
	c.fine([2]float64{0.62, -0.08}, [2]float64{0.88, -0.10}, [2]float64{1.03, -0.12})
	c.fine([2]float64{-0.62, -0.06}, [2]float64{-0.74, 0.12})
	c.fine([2]float64{-0.62, -0.06}, [2]float64{-0.70, -0.34})
	c.fine([2]float64{0.34, -0.12}, [2]float64{0.36, 0.14})
	c.fine([2]float64{-0.20, -0.12}, [2]float64{-0.14, -0.36})
	c.fine([2]float64{0.28, -0.12}, [2]float64{0.22, -0.38})
	c.name("central fossa", 0.06, -0.10)
	c.name("mesial fossa", 0.62, -0.08)
	c.name("distal fossa", -0.62, -0.06)
	c.name("mesial marginal ridge", 0.84, -0.08)
	c.name("distal marginal ridge", -0.86, -0.12)
}
