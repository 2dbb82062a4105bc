package typodont

// incisor shapes a central (place 1) or lateral (2) incisor: edge, labial face,
// cingulum, palatal fossa between two marginal ridges.
func incisor(c *crown, upper bool, place int) {
	a := c.md / 2
	w := &blade{bend: 0.16, bendIn: 0.10, taper: 0.12, shift: scaled(1, [2]float64{0, 0}, [2]float64{1, 0})}
	c.wall = w
	c.corner = 0.4
	c.papilla = 0.55 * c.length
	edge := 0.84
	if upper {
		k := c.bl / 7
		w.half = scaled(a, [2]float64{0, 0.72}, [2]float64{0.3, 0.84}, [2]float64{0.6, 0.955}, [2]float64{0.83, 1},
			[2]float64{1, 0.955}, [2]float64{1.1, 0.9})
		w.buccal = scaled(k, [2]float64{0, 1.8}, [2]float64{0.18, 2.1}, [2]float64{0.5, 1.78}, [2]float64{0.8, 1.1},
			[2]float64{1, 0.5}, [2]float64{1.1, 0.15})
		w.lingual = scaled(k, [2]float64{0, -4.45}, [2]float64{0.14, -4.9}, [2]float64{0.32, -4.0}, [2]float64{0.5, -2.95},
			[2]float64{0.7, -2.0}, [2]float64{0.88, -1.25}, [2]float64{1, -0.8}, [2]float64{1.1, -0.5})
		w.shift = scaled(a, [2]float64{0, -0.04}, [2]float64{1, 0.02})
		w.dents = []dent{
			{m: 0, u: 0.58, wm: 0.74 * a, wu: 0.34, deep: 0.62},                       // palatal fossa
			{m: 0.36 * a, u: 0.78, wm: 0.22 * a, wu: 0.34, deep: 0.10, buccal: true},  // labial grooves between
			{m: -0.34 * a, u: 0.78, wm: 0.22 * a, wu: 0.34, deep: 0.10, buccal: true}, // the three lobes
			// lingual pit, groove on the cingulum
			{m: 0, u: 0.31, wm: 0.30 * a, wu: 0.07, deep: 0.10}, {m: 0.2 * a, u: 0.36, wm: 0.14 * a, wu: 0.12, deep: 0.08},
		}
		distal := -0.25
		if place == 2 {
			w.bend, distal = 0.24, -0.55
			w.half = scaled(a, [2]float64{0, 0.70}, [2]float64{0.3, 0.84}, [2]float64{0.55, 0.96}, [2]float64{0.76, 1},
				[2]float64{1, 0.90}, [2]float64{1.1, 0.8})
			edge = 0.72
			w.dents[0].deep = 0.55
		}
		c.crest(-edge, -0.03, distal, edge, -0.03, 0, -0.04, 0.30, 0.85, 0.4)
	} else {
		k := c.bl / 6
		w.bend, w.bendIn, w.taper = 0.14, 0.05, 0.14
		w.half = scaled(a, [2]float64{0, 0.66}, [2]float64{0.35, 0.80}, [2]float64{0.65, 0.93}, [2]float64{0.86, 1},
			[2]float64{1, 0.97}, [2]float64{1.1, 0.92})
		w.buccal = scaled(k, [2]float64{0, 2.0}, [2]float64{0.15, 2.25}, [2]float64{0.45, 1.75}, [2]float64{0.75, 1.05},
			[2]float64{1, 0.5}, [2]float64{1.1, 0.2})
		w.lingual = scaled(k, [2]float64{0, -3.4}, [2]float64{0.15, -3.75}, [2]float64{0.35, -3.0}, [2]float64{0.55, -2.05},
			[2]float64{0.8, -1.15}, [2]float64{1, -0.62}, [2]float64{1.1, -0.4})
		w.dents = []dent{{m: 0, u: 0.62, wm: 0.75 * a, wu: 0.33, deep: 0.22}}
		distal := 0.0
		if place == 2 {
			distal = -0.22
		}
		c.crest(-0.84, 0.0, distal, 0.86, 0.0, 0, -0.02, 0.45, 0.65, 0.35)
	}
	c.name("mesioincisal", 0.80, 0)
	c.name("distoincisal", -0.80, 0)
	c.name("incisal", 0, 0)
}

// canine shapes a canine: one cusp with mesial and distal cusp ridges, labial
// ridge, cingulum, lingual ridge between two shallow fossae.
func canine(c *crown, upper bool) {
	a := c.md / 2
	w := &blade{bend: 0.42, bendIn: 0.22, taper: 0.13, shift: scaled(a, [2]float64{0, 0.02}, [2]float64{1, -0.03})}
	c.wall = w
	c.corner = 0.5
	c.papilla = 0.5 * c.length
	if upper {
		w.half = scaled(a, [2]float64{0, 0.72}, [2]float64{0.3, 0.86}, [2]float64{0.62, 1}, [2]float64{0.8, 0.97},
			[2]float64{1, 0.80}, [2]float64{1.1, 0.7})
		w.buccal = scaled(1, [2]float64{0, 2.3}, [2]float64{0.22, 2.75}, [2]float64{0.5, 2.45}, [2]float64{0.8, 1.55},
			[2]float64{1, 0.7}, [2]float64{1.1, 0.3})
		w.lingual = scaled(1, [2]float64{0, -4.7}, [2]float64{0.16, -5.25}, [2]float64{0.35, -4.5}, [2]float64{0.55, -3.4},
			[2]float64{0.75, -2.5}, [2]float64{0.9, -1.75}, [2]float64{1, -1.2}, [2]float64{1.1, -0.8})
		w.dents = []dent{
			{m: 0.42 * a, u: 0.55, wm: 0.34 * a, wu: 0.26, deep: 0.32},
			{m: -0.42 * a, u: 0.53, wm: 0.36 * a, wu: 0.26, deep: 0.36},
			{m: 0.52 * a, u: 0.66, wm: 0.24 * a, wu: 0.36, deep: 0.16, buccal: true},
			{m: -0.50 * a, u: 0.64, wm: 0.28 * a, wu: 0.36, deep: 0.20, buccal: true},
		}
		c.point("cusp", 0.06, 0, 0, cusp{in: 0.95, out: 0.75, mesial: 0.44, distal: 0.60, hollow: 0.12, tip: 0.45})
	} else {
		w.half = scaled(a, [2]float64{0, 0.72}, [2]float64{0.35, 0.87}, [2]float64{0.68, 1}, [2]float64{0.84, 0.98},
			[2]float64{1, 0.86}, [2]float64{1.1, 0.75})
		w.buccal = scaled(1, [2]float64{0, 2.6}, [2]float64{0.16, 2.9}, [2]float64{0.5, 2.3}, [2]float64{0.8, 1.4},
			[2]float64{1, 0.65}, [2]float64{1.1, 0.3})
		w.lingual = scaled(1, [2]float64{0, -4.15}, [2]float64{0.15, -4.6}, [2]float64{0.35, -3.7}, [2]float64{0.6, -2.5},
			[2]float64{0.8, -1.7}, [2]float64{1, -0.95}, [2]float64{1.1, -0.6})
		w.dents = []dent{
			{m: 0.40 * a, u: 0.58, wm: 0.36 * a, wu: 0.28, deep: 0.2},
			{m: -0.40 * a, u: 0.56, wm: 0.38 * a, wu: 0.28, deep: 0.22},
			{m: 0.54 * a, u: 0.66, wm: 0.24 * a, wu: 0.36, deep: 0.12, buccal: true},
			{m: -0.52 * a, u: 0.64, wm: 0.28 * a, wu: 0.36, deep: 0.16, buccal: true},
		}
		c.point("cusp", 0.08, 0, 0, cusp{in: 0.85, out: 0.75, mesial: 0.40, distal: 0.60, hollow: 0.1, tip: 0.45, supporting: true})
	}
}
