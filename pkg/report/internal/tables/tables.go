// Package tables writes findings as comma-separated values.
package tables

import (
	"encoding/csv"
	"io"
	"slices"
	"strconv"

	"github.com/cusptrace/cusptrace/pkg/findings"
)

// WriteContacts writes every contact of the findings, one a row: those of the
// closing in intercuspation first (movement centric), then those of each movement.
// Headers carry units; numbers read back exactly; what is not known is empty.
func WriteContacts(w io.Writer, f *findings.Findings) error {
	t := csv.NewWriter(w)
	t.Write([]string{"movement", "travel_mm", "opening_deg", "foil_um", "upper", "lower", "gap_um", "overlap_um", "area_mm2",
		"point_x_mm", "point_y_mm", "point_z_mm", "centre_x_mm", "centre_y_mm", "centre_z_mm",
		"normal_x", "normal_y", "normal_z", "incline_upper_deg", "incline_lower_deg"})
	rows := func(movement string, travel, opening float64, contacts []findings.Contact) {
		for _, c := range contacts {
			row := []string{movement, num(travel), num(opening), c.FoilUm.String(), code(c.Upper), code(c.Lower), num(c.GapUm),
				num(c.OverlapUm), num(c.AreaMM2)}
			for _, v := range [3]findings.Vec{c.PointMM, c.CentreMM, c.Normal} {
				row = append(row, num(v[0]), num(v[1]), num(v[2]))
			}
			t.Write(append(row, known(c.InclineDeg.Upper), known(c.InclineDeg.Lower)))
		}
	}
	rows("centric", 0, f.Centric.OpeningDeg, f.Centric.Contacts)
	for _, x := range f.Excursions {
		for _, fr := range x.Frames {
			rows(string(x.Movement), fr.TravelMM, fr.OpeningDeg, fr.Contacts)
		}
	}
	t.Flush()
	return t.Error()
}

// WriteFrames writes every frame of every movement, one a row, with the
// clearance of each tooth in a column of its own.
func WriteFrames(w io.Writer, f *findings.Findings) error {
	t := csv.NewWriter(w)
	head := []string{"movement", "travel_mm", "opening_deg", "carrier_upper", "carrier_lower", "incisal_x_mm",
		"incisal_y_mm", "incisal_z_mm", "contacts"}
	parts := partNames(f)
	for _, p := range parts {
		head = append(head, "clearance_"+p+"_mm")
	}
	t.Write(head)
	for _, x := range f.Excursions {
		for _, fr := range x.Frames {
			row := []string{string(x.Movement), num(fr.TravelMM), num(fr.OpeningDeg)}
			if fr.Carrier != nil {
				row = append(row, code(fr.Carrier.Upper), code(fr.Carrier.Lower))
			} else {
				row = append(row, "", "")
			}
			if p := fr.IncisalPoint; p != nil {
				row = append(row, num(p[0]), num(p[1]), num(p[2]))
			} else {
				row = append(row, "", "", "")
			}
			row = append(row, strconv.Itoa(len(fr.Contacts)))
			for _, p := range parts {
				if d, ok := fr.ClearanceMM[p]; ok {
					row = append(row, num(d))
				} else {
					row = append(row, "")
				}
			}
			t.Write(row)
		}
	}
	t.Flush()
	return t.Error()
}

// partNames lists the parts whose clearance any frame has, in order.
func partNames(f *findings.Findings) []string {
	var names []string
	for _, x := range f.Excursions {
		for _, fr := range x.Frames {
			for p := range fr.ClearanceMM {
				if i, found := slices.BinarySearch(names, p); !found {
					names = slices.Insert(names, i, p)
				}
			}
		}
	}
	return names
}

func num(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

func known(v *float64) string {
	if v == nil {
		return ""
	}
	return num(*v)
}

func code(p findings.Part) string {
	if p == 0 {
		return ""
	}
	return p.String()
}
