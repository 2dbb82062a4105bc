package typodont

// Handbook crown sizes: length, mesiodistal, bucco- or labiolingual (mm), from
// the carving table of Wheeler (Nelson and Ash), permanent teeth 1 to 8.
var (
	upperSizes = [8][3]float64{
		{10.5, 8.5, 7}, {9, 6.5, 6}, {10, 7.5, 8}, {8.5, 7, 9}, {8.5, 7, 9}, {7.5, 10, 11}, {7, 9, 11}, {6.5, 8.5, 10},
	}
	lowerSizes = [8][3]float64{
		{9, 5, 6}, {9.5, 5.5, 6.5}, {11, 7, 7.5}, {8.5, 7, 7.5}, {8, 7, 8}, {7.5, 11, 10.5}, {7, 10.5, 10}, {7, 10, 9.5},
	}
)

// anatomy is the crown of the tooth at the given place (1 central incisor … 8
// third molar) of the upper or lower jaw. Positions inside the tables below are
// shares of half the width and half the depth, heights are mm.
func anatomy(upper bool, place int) crown {
	size := lowerSizes[place-1]
	if upper {
		size = upperSizes[place-1]
	}
	c := crown{length: size[0], md: size[1], bl: size[2], floor: -4, corner: 0.7, crease: 0.3}
	switch {
	case place <= 2:
		incisor(&c, upper, place)
	case place == 3:
		canine(&c, upper)
	case upper && place <= 5:
		upperPremolar(&c, place)
	case place <= 5:
		lowerPremolar(&c, place)
	case upper:
		upperMolar(&c, place)
	default:
		lowerMolar(&c, place)
	}
	c.trueWidth()
	return c
}

// trueWidth scales the wall so that the crown's mesiodistal size is the
// handbook's, whatever skew, taper and rounding do to it.
func (c *crown) trueWidth() {
	for range 2 {
		lo, hi := 0.0, 0.0
		for u := 0.3; u < 0.95; u += 0.05 {
			for b := -c.bl / 2; b < c.bl/2; b += c.bl / 40 {
				if c.wall.value(0, b, u) > 0 {
					continue
				}
				for _, side := range []float64{-1, 1} {
					in, out := 0.0, c.md
					for range 20 {
						if mid := (in + out) / 2; c.wall.value(side*mid, b, u) < 0 {
							in = mid
						} else {
							out = mid
						}
					}
					lo, hi = min(lo, side*in), max(hi, side*in)
				}
			}
		}
		k := c.md / (hi - lo)
		switch w := c.wall.(type) {
		case *oval:
			w.mesial.scale(k)
		case *blade:
			w.half.scale(k)
		}
	}
}

// scaled multiplies the values of a profile's knots by k.
func scaled(k float64, knots ...[2]float64) profile {
	out := make([][2]float64, len(knots))
	for i, p := range knots {
		out[i] = [2]float64{p[0], p[1] * k}
	}
	return newProfile(out...)
}

// cut adds a groove along points given as shares of half width and half depth.
func (c *crown) cut(deep, wide, pit float64, pts ...[2]float64) {
	c.grooves = append(c.grooves, groove{pts: c.mm(pts), deep: deep, wide: wide, pit: pit})
}

// fine adds a supplemental groove.
func (c *crown) fine(pts ...[2]float64) {
	c.grooves = append(c.grooves, groove{pts: c.mm(pts), deep: 0.16, wide: 0.36})
}

func (c *crown) mm(pts [][2]float64) [][2]float64 {
	out := make([][2]float64, len(pts))
	for i, p := range pts {
		out[i] = [2]float64{p[0] * c.md / 2, p[1] * c.bl / 2}
	}
	return out
}

// point adds a cusp; its place is given as shares.
func (c *crown) point(name string, m, b, h float64, shape cusp) {
	shape.name, shape.m, shape.b, shape.h = name, m*c.md/2, b*c.bl/2, h
	c.cusps = append(c.cusps, shape)
}

// crest adds a ridge; its ends are given as shares.
func (c *crown) crest(m0, b0, h0, m1, b1, h1, sag, left, right, round float64) {
	c.ridges = append(c.ridges, ridge{
		m0: m0 * c.md / 2, b0: b0 * c.bl / 2, h0: h0, m1: m1 * c.md / 2, b1: b1 * c.bl / 2, h1: h1,
		sag: sag, left: left, right: right, round: round,
	})
}

// name adds a named point of the biting surface.
func (c *crown) name(name string, m, b float64) {
	c.named = append(c.named, feature{name, m * c.md / 2, b * c.bl / 2})
}
