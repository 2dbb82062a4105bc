package restore

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/judge"
)

// A facet of π mm² reaches 1.5 mm from its middle and 0.15 mm from its plane, just so.
func TestHowFarAFacetReaches(t *testing.T) {
	f := &findings.WearFacet{Normal: findings.Vec{0, 0, 1}, AreaMM2: math.Pi}
	for _, c := range []struct {
		at   findings.Vec
		want bool
	}{
		{findings.Vec{1.5, 0, 0}, true}, {findings.Vec{1.5001, 0, 0}, false}, {findings.Vec{0, -1.5, 0.1}, true},
		{findings.Vec{0, 0, 0.15}, true}, {findings.Vec{0, 0, 0.1501}, false}, {findings.Vec{0, 0, -0.15}, true},
		{findings.Vec{0, 0, -0.1501}, false},
	} {
		require.Equal(t, c.want, onFace(f, c.at.R3()), c.at)
	}
}

// slid is a movement to the right in which 16 and 46 touch at the origin at some travels,
// with findings of it.
func slid(t *testing.T, carries bool, mm []float64, found ...findings.Finding) (*findings.Findings, []judge.Movement) {
	t.Helper()
	x := findings.Excursion{Movement: "right", Findings: found}
	for _, at := range mm {
		fr := findings.Frame{TravelMM: at, Contacts: []findings.Contact{{Upper: 16, Lower: 46, FoilUm: 40}}}
		if carries {
			fr.Carrier = &findings.Touch{Upper: 16, Lower: 46}
		}
		x.Frames = append(x.Frames, fr)
	}
	c := casefile.Default()
	c.Thresholds.BegunMM = 0.5
	f := &findings.Findings{Excursions: []findings.Excursion{x}}
	m, err := judge.Movements(f.Excursions, c)
	require.NoError(t, err)
	return f, m
}

// A facet stays where its tooth works on it, unless that pair itself is unwanted; then it is not
// to be copied where the contact is on it during the finding, ends included. What touches before
// the movement has begun does not count.
func TestWhatKeepsAFacet(t *testing.T) {
	finding := func(kind findings.Kind, upper, lower findings.Part, from, to float64) findings.Finding {
		return findings.Finding{Kind: kind, Upper: upper, Lower: lower, FromMM: from, ToMM: to}
	}
	const bad = findings.KindWorkingInterference
	for name, c := range map[string]struct {
		mm    []float64
		found []findings.Finding
		want  string
	}{
		"nothing against it":      {[]float64{1}, nil, doKeep},
		"at the beginning":        {[]float64{0.5}, nil, doKeep},
		"before it":               {[]float64{0.4999}, nil, doOpen},
		"what is wanted":          {[]float64{1}, []findings.Finding{finding(findings.KindGuidance, 16, 46, 0, 2)}, doKeep},
		"another lower tooth":     {[]float64{1}, []findings.Finding{finding(bad, 16, 47, 0, 2)}, doKeep},
		"another upper tooth":     {[]float64{1}, []findings.Finding{finding(bad, 15, 46, 0, 2)}, doKeep},
		"the pair is unwanted":    {[]float64{1}, []findings.Finding{finding(bad, 16, 46, 0.9, 1.1)}, doNot},
		"from here on":            {[]float64{1}, []findings.Finding{finding(bad, 16, 46, 1, 1.1)}, doNot},
		"up to here":              {[]float64{1}, []findings.Finding{finding(bad, 16, 46, 0.9, 1)}, doNot},
		"only later":              {[]float64{1}, []findings.Finding{finding(bad, 16, 46, 1.0001, 1.1)}, doOpen},
		"only before":             {[]float64{1}, []findings.Finding{finding(bad, 16, 46, 0.9, 0.9999)}, doOpen},
		"there is another, later": {[]float64{1}, []findings.Finding{finding(bad, 16, 46, 2, 3), finding(bad, 16, 47, 0, 2)}, doOpen},
		"and one above":           {[]float64{1}, []findings.Finding{finding(bad, 16, 46, 2, 3), finding(bad, 15, 46, 0, 2)}, doOpen},
		"and a wanted one": {[]float64{1}, []findings.Finding{finding(bad, 16, 46, 2, 3),
			finding(findings.KindGuidance, 16, 46, 0, 2)}, doOpen},
	} {
		for _, carries := range []bool{false, true} {
			f, m := slid(t, carries, c.mm, c.found...)
			w := &findings.WearFacet{Tooth: 16, Normal: findings.Vec{0, 0, -1}, AreaMM2: 1}
			require.Equal(t, c.want, facetToHeed(w, f, m).Do, name)
		}
	}
	// On the nonworking side what touches does not work, though nothing was found against it.
	f, m := slid(t, true, []float64{1})
	x := &f.Excursions[0]
	x.Frames[0].Carrier = &findings.Touch{Upper: 26, Lower: 36}
	x.Frames[0].Contacts[0].Upper, x.Frames[0].Contacts[0].Lower = 26, 36
	require.Equal(t, doOpen, facetToHeed(&findings.WearFacet{Tooth: 26, Normal: findings.Vec{0, 0, -1}, AreaMM2: 1}, f, m).Do)
	// Only the facets of the tooth itself are looked at.
	f.Facets = []findings.WearFacet{{Tooth: 16, Number: 1, AreaMM2: 1}, {Tooth: 17, Number: 2, AreaMM2: 1}}
	heeded := facetsToHeed(&findings.Restoration{Tooth: 17}, f, m)
	require.Len(t, heeded, 1)
	require.Equal(t, 2, heeded[0].Number)
}

// The least clearance counts from the beginning of a movement, just so, the first of equals; a
// guidance is as robust as the finding that names it; a contact of the first position may be
// beside a stop, one exactly 1 mm off is not.
func TestRestoreAtItsThresholds(t *testing.T) {
	c := casefile.Default()
	c.Thresholds.BegunMM = 0.5
	clear := func(mm float64) map[string]float64 { return map[string]float64{"16": mm} }
	x := guided("right", findings.Pair{Upper: 16, Lower: 46})
	x.Frames = []findings.Frame{{TravelMM: 0.4999, ClearanceMM: clear(0.1)}, {TravelMM: 0.5, ClearanceMM: clear(0.2)},
		{TravelMM: 1, ClearanceMM: clear(0.2)}}
	depends := findings.Robustness{State: findings.Depends}
	near, off := findings.Vec{0.999, 0, 0}, findings.Vec{1, 0, 0}
	x.Findings = []findings.Finding{{Kind: findings.KindGuidance, Robustness: depends},
		{Kind: findings.KindWorkingContact, Upper: 16, Lower: 47, AtMM: 0.4999, PointMM: &near},
		{Kind: findings.KindWorkingContact, Upper: 16, Lower: 45, AtMM: 0.4999, PointMM: &off},
		{Kind: findings.KindWorkingContact, Upper: 16, Lower: 44, AtMM: 0.7, PointMM: &near}}
	f := &findings.Findings{Excursions: []findings.Excursion{*x}}
	f.Centric.Stops = []findings.Stop{{Upper: 16, Lower: 46, Stable: true}}
	m, err := judge.Movements(f.Excursions, c)
	require.NoError(t, err)
	r := &findings.Restoration{Tooth: 16}
	restore(&frames.Setup{Case: c}, r, f, m)
	require.Equal(t, []findings.RestoreRoom{{Movement: "right", LeastMM: 0.2, AtMM: 0.5}}, r.Room)
	require.Len(t, r.Guides, 1)
	require.Equal(t, depends, r.Guides[0].Robustness)
	var beside []bool
	for _, a := range r.Avoid {
		beside = append(beside, a.NearStop)
	}
	require.Equal(t, []bool{true, false, false}, beside, "the last one is in no frame")
	x.Findings = x.Findings[1:]
	f.Excursions[0].Findings = x.Findings
	r = &findings.Restoration{Tooth: 16}
	restore(&frames.Setup{Case: c}, r, f, m)
	require.Zero(t, r.Guides[0].Robustness, "nothing names the guidance")
}

// What is said of a tooth, with and without each part of it.
func TestRestorationInWords(t *testing.T) {
	const deg = 30.0
	said := language.Literal("because")
	on := func(place string, with findings.Part, m findings.Movement) findings.RestoreStop {
		return findings.RestoreStop{On: place, With: with, Movement: m, FromMM: 1, ToMM: 2, Why: said}
	}
	stop := func(place string, with findings.Part) findings.RestoreStop { return on(place, with, findings.Closed) }
	sliding, beyond, beside := on("", 37, "left"), on("", 37, "left"), on("", 37, "left")
	beyond.PastEdge, beside.NearStop = true, true
	depends := findings.Robustness{State: findings.Depends, DependsOn: []findings.Setting{"condylar_inclination"}}
	inclination := deg
	for want, r := range map[string]findings.Restoration{
		"16 is not labelled on its cast.":                {},
		"16 has no centric stop: build one.":             {OnCast: true},
		"16: keep the stop on the mesial fossa with 46.": {OnCast: true, Keep: []findings.RestoreStop{stop("mesial fossa", 46)}},
		"16: keep the 2 stops on the mesial fossa with 46, the stop on an outer face with 46, the stop on the mesial fossa with 47.": {
			OnCast: true, Keep: []findings.RestoreStop{stop("mesial fossa", 46), stop("", 46), stop("mesial fossa", 46), stop("mesial fossa", 47)}},
		"16 has no stable stop: build one. Not stable, not to be reproduced: the stop on an outer face with 46 (because).": {
			OnCast: true, Avoid: []findings.RestoreStop{stop("", 46)}},
		"16 has no centric stop: build one. Do not reproduce the contact with 37 in left lateral movement (1.0 to 2.0 mm).": {
			OnCast: true, Avoid: []findings.RestoreStop{sliding}},
		"16: keep the stop on an outer face with 45. Not stable, not to be reproduced: the stop on an outer face with 46 (because). " +
			"Do not reproduce the contact with 37 in left lateral movement (1.0 to 2.0 mm, beyond edge-to-edge). " +
			"Keep the stop with 37, but free the way out of it in left lateral movement (1.0 to 2.0 mm).": {OnCast: true,
			Keep: []findings.RestoreStop{stop("", 45)}, Avoid: []findings.RestoreStop{stop("", 46), beyond, beside}},
		"16 has no centric stop: build one. It guides right lateral movement on 46 at 30°, which depends on condylar inclination: keep that. " +
			"13 guides protrusion: the inclination to take over if 16 shall guide.": {OnCast: true, Guides: []findings.RestoreGuide{
			{Movement: "right", Guides: true, With: 46, From: 16, ToothDeg: &inclination, Robustness: depends},
			{Movement: "protrusive", From: 13, Robustness: findings.Robustness{State: findings.Robust}}}},
		"16 has no centric stop: build one. Facet 1 must stay: because. Do not reproduce facet 2: because. Facet 3: because. " +
			"Unexplained by the simulated movements: facets 4, 5.": {OnCast: true, Wear: []findings.RestoreFacet{{Number: 1, Do: doKeep, Why: said},
			{Number: 2, Do: doNot, Movement: "right", Why: said}, {Number: 3, Do: doOpen, Movement: "right", Why: said},
			{Number: 4, Do: doOpen, Why: said}, {Number: 5, Do: doOpen, Why: said}}},
		"16 has no centric stop: build one. Clearance today: 0.10 mm closed, 0.20 mm in protrusion (at 1.5 mm).": {OnCast: true,
			Room: []findings.RestoreRoom{{Movement: findings.Closed, LeastMM: 0.1}, {Movement: "protrusive", LeastMM: 0.2, AtMM: 1.5}}},
	} {
		r.Tooth = 16
		text := sayRestoration(&r)
		require.Equal(t, want, text.String())
	}
}
