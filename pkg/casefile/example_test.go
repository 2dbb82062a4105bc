package casefile_test

import (
	"fmt"
	"os"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

func ExampleParse() {
	c, warnings, err := casefile.Parse("case.yaml", []byte(`
upper: {scan: upper.stl}
lower: {scan: lower.stl}
settings:
  left: {condylar_inclination_deg: 70}
`))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(c.Settings.Left.CondylarInclinationDeg, c.Settings.Right.CondylarInclinationDeg)
	for _, w := range warnings {
		fmt.Println(w)
	}

	_, _, err = casefile.Parse("case.yaml", []byte("upper: {scan: upper.stl}\nlower: {scna: lower.stl}\n"))
	fmt.Println(err)
	// Output:
	// 70 33
	// 5:36: settings.left.condylar_inclination_deg: 70 is unusual, usual is 12 to 66 degrees
	// case.yaml:2:8: lower.scan: missing: path of the surface (STL, PLY or OBJ), relative to the case file
	// case.yaml:2:9: lower.scna: unknown key: did you mean scan?
}

func ExampleWrite() {
	c := casefile.Default()
	c.Upper.Scan, c.Lower.Scan = "upper.stl", "lower.stl"
	c.Settings.Right = casefile.Side{CondylarInclinationDeg: 40, SideShiftAngleDeg: 8}
	c.Excursions = []casefile.Excursion{{Movement: kinematics.Protrusive, MaxMM: 6, StepMM: 0.1}}
	if err := casefile.Write(os.Stdout, c); err != nil {
		fmt.Println(err)
	}
	// Output:
	// upper: {scan: upper.stl}
	// lower: {scan: lower.stl}
	// units: mm
	// mount: {average: {condyle_to_incisal_mm: 105, balkwill_deg: 22, plane_tilt_deg: 0}}
	// settings:
	//   intercondylar_mm: 110
	//   reference_plane: occlusal
	//   right:
	//     condylar_inclination_deg: 40
	//     side_shift_angle_deg: 8
	//     immediate_side_shift_mm: 0
	//     side_shift_travel_mm: 0
	//     laterotrusion_back_deg: 0
	//     laterotrusion_up_deg: 0
	//   left:
	//     condylar_inclination_deg: 33
	//     side_shift_angle_deg: 10
	//     immediate_side_shift_mm: 0
	//     side_shift_travel_mm: 0.5
	//     laterotrusion_back_deg: 0
	//     laterotrusion_up_deg: 0
	//   guidance: {by: teeth}
	// settle: {how: seat, doubt_um: 150}
	// excursions: [{movement: protrusive, max_mm: 6, step_mm: 0.1}]
	// foils_um: [8, 40]
	// thresholds:
	//   scan_doubt_um: 36.7
	//   holds_um: 6
	//   drags_um: 8
	//   stable_incline_deg: 30
	//   axial_share: 0.9
	//   facing_deg: 5
	//   touch_um: 40
	//   begun_mm: 0.3
	//   late_mm: 3
	//   kink_deg: 10
	//   jump_mm: 0.1
	// support:
	//   axial_free_n: 3.5
	//   lateral_free_n: 1
	//   incisor: {axial_free_um: 28, axial_50n_um: 100, lateral_free_um: 70, lateral_5n_um: 130}
	//   canine: {axial_free_um: 22, axial_50n_um: 74, lateral_free_um: 50, lateral_5n_um: 90}
	//   premolar: {axial_free_um: 20, axial_50n_um: 72, lateral_free_um: 45, lateral_5n_um: 85}
	//   molar: {axial_free_um: 15, axial_50n_um: 46, lateral_free_um: 25, lateral_5n_um: 50}
	// notation: iso
}
