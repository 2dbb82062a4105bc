package dentition_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/dentition"
)

func tooth(t *testing.T, code string) dentition.ToothID {
	t.Helper()
	id, err := dentition.ParseTooth(code)
	require.NoError(t, err)
	return id
}

// ISO 3950: 11–18, 21–28, 31–38, 41–48 and 51–55, 61–65, 71–75, 81–85 are
// teeth, all else is none.
func TestTheCodes(t *testing.T) {
	var want []string
	for quadrant := 1; quadrant <= 8; quadrant++ {
		last := 8
		if quadrant > 4 {
			last = 5
		}
		for position := 1; position <= last; position++ {
			want = append(want, fmt.Sprint(quadrant)+fmt.Sprint(position))
		}
	}
	require.Len(t, want, 32+20)
	var all []string
	for id := range dentition.All {
		all = append(all, id.String())
		require.True(t, id.Valid())
		back, err := dentition.ParseTooth(id.String())
		require.NoError(t, err)
		require.Equal(t, id, back)
	}
	require.Equal(t, want, all)

	for n := range 256 {
		id := dentition.ToothID(n)
		require.Equal(t, slices.Contains(want, fmt.Sprintf("%02d", n)), id.Valid(), "%d", n)
		if n < 100 {
			_, err := dentition.ParseTooth(fmt.Sprintf("%02d", n))
			require.Equal(t, id.Valid(), err == nil, "%d", n)
		}
	}
}

func TestNoTooth(t *testing.T) {
	for s, want := range map[string]string{
		"":    `not a tooth: "", must be two digits such as 16 (ISO 3950)`,
		"6":   `not a tooth: "6", must be two digits such as 16 (ISO 3950)`,
		"016": `not a tooth: "016", must be two digits such as 16 (ISO 3950)`,
		"1x":  `not a tooth: "1x", must be two digits such as 16 (ISO 3950)`,
		"٣٤":  `not a tooth: "٣٤", must be two digits such as 16 (ISO 3950)`,
		"00":  "not a tooth: 00 is the whole mouth",
		"03":  "not a tooth: 03 is the upper right sextant",
		"09":  "not a tooth: 09, the first digit must be a quadrant from 1 to 8",
		"90":  "not a tooth: 90, the first digit must be a quadrant from 1 to 8",
		"40":  "not a tooth: 40 is the lower right quadrant",
		"50":  "not a tooth: 50, the second digit must count the teeth from 1",
		"19":  "not a tooth: 19, the permanent teeth of a quadrant are 11 to 18",
		"29":  "not a tooth: 29, the permanent teeth of a quadrant are 21 to 28",
		"56":  "not a tooth: 56, the deciduous teeth of a quadrant are 51 to 55",
	} {
		id, err := dentition.ParseTooth(s)
		require.EqualError(t, err, want)
		require.ErrorIs(t, err, dentition.ErrTooth)
		require.Equal(t, dentition.NoTooth, id)
	}
	require.Equal(t, "no tooth", dentition.NoTooth.Name())
	require.Nil(t, dentition.ToothID(19).Opposing())
	_, err := json.Marshal(dentition.NoTooth)
	require.ErrorIs(t, err, dentition.ErrTooth)
}

func TestNames(t *testing.T) {
	for code, want := range map[string]string{
		"11": "upper right central incisor",
		"22": "upper left lateral incisor",
		"33": "lower left canine",
		"44": "lower right first premolar",
		"15": "upper right second premolar",
		"26": "upper left first molar",
		"37": "lower left second molar",
		"48": "lower right third molar",
		"51": "upper right deciduous central incisor",
		"63": "upper left deciduous canine",
		"74": "lower left deciduous first molar",
		"85": "lower right deciduous second molar",
	} {
		require.Equal(t, want, tooth(t, code).Name())
	}
}

func TestTypes(t *testing.T) {
	n := map[string]int{}
	for id := range dentition.All {
		ty := id.Type()
		kinds := 0
		for name, is := range map[string]bool{"incisor": ty.Incisor(), "canine": ty == dentition.Canine,
			"premolar": ty.Premolar(), "molar": ty.Molar()} {
			if is {
				kinds++
				n[name]++
			}
		}
		require.Equal(t, 1, kinds, "%v is of one kind", id)
		require.Equal(t, ty.Incisor() || ty == dentition.Canine, ty.Anterior())
		require.False(t, id.Deciduous() && ty.Premolar(), "%v: there are no deciduous premolars", id)
	}
	require.Equal(t, map[string]int{"incisor": 16, "canine": 8, "premolar": 8, "molar": 20}, n)
	require.Equal(t, "Type(9)", dentition.Type(9).String())
	require.Equal(t, "Jaw(0)", dentition.Jaw(0).String())
	require.Equal(t, "Side(3)", dentition.Side(3).String())
}

func TestMirror(t *testing.T) {
	require.Equal(t, tooth(t, "26"), tooth(t, "16").Mirror())
	require.Equal(t, tooth(t, "84"), tooth(t, "74").Mirror())
	for id := range dentition.All {
		m := id.Mirror()
		require.True(t, m.Valid())
		require.Equal(t, id, m.Mirror())
		require.NotEqual(t, id.Side(), m.Side())
		require.Equal(t, []any{id.Jaw(), id.Type(), id.Deciduous()}, []any{m.Jaw(), m.Type(), m.Deciduous()})
	}
}

// Normal occlusion as in handbooks: one tooth to two, but for the lower central
// incisor and the rearmost upper tooth.
func TestOpposing(t *testing.T) {
	for code, want := range map[string][]string{
		"11": {"41", "42"}, "13": {"43", "44"}, "16": {"46", "47"}, "18": {"48"},
		"25": {"35", "36"}, "41": {"11"}, "31": {"21"}, "46": {"15", "16"}, "38": {"27", "28"},
		"51": {"81", "82"}, "55": {"85"}, "71": {"61"}, "75": {"64", "65"},
	} {
		var got []string
		for _, o := range tooth(t, code).Opposing() {
			got = append(got, o.String())
		}
		require.Equal(t, want, got, code)
	}
	single := map[string]bool{}
	for id := range dentition.All {
		if len(id.Opposing()) == 1 {
			single[id.String()] = true
		}
		for _, o := range id.Opposing() {
			require.Contains(t, o.Opposing(), id, "%v and %v meet each other", id, o)
			require.NotEqual(t, id.Jaw(), o.Jaw())
			require.Equal(t, id.Side(), o.Side())
		}
		mirrored := []dentition.ToothID{}
		for _, o := range id.Mirror().Opposing() {
			mirrored = append(mirrored, o.Mirror())
		}
		require.Equal(t, id.Opposing(), mirrored)
	}
	require.Equal(t, map[string]bool{"18": true, "28": true, "31": true, "41": true, "55": true, "65": true, "71": true, "81": true}, single)
}

func TestToothText(t *testing.T) {
	b, err := json.Marshal(map[dentition.ToothID]dentition.ToothID{tooth(t, "16"): tooth(t, "46")})
	require.NoError(t, err)
	require.Equal(t, `{"16":"46"}`, string(b))
	var back map[dentition.ToothID]dentition.ToothID
	require.NoError(t, json.Unmarshal(b, &back))
	require.Equal(t, tooth(t, "46"), back[tooth(t, "16")])
	require.ErrorIs(t, json.Unmarshal([]byte(`{"19":"46"}`), &back), dentition.ErrTooth)
}

// Both tables as they are drawn in textbooks, as one looks at the patient; universal
// numbers beside ISO codes, and those of supernumerary teeth, also in HL7 Terminology
// (code system ADAUniversalToothDesignationSystem, terminology.hl7.org).
func TestNotations(t *testing.T) {
	iso := []string{"18", "17", "16", "15", "14", "13", "12", "11", "21", "22", "23", "24", "25", "26", "27", "28",
		"38", "37", "36", "35", "34", "33", "32", "31", "41", "42", "43", "44", "45", "46", "47", "48"}
	for i, code := range iso {
		require.Equal(t, fmt.Sprint(i+1), dentition.Universal.Format(tooth(t, code)))
	}
	milk := []string{"55", "54", "53", "52", "51", "61", "62", "63", "64", "65", "75", "74", "73", "72", "71", "81", "82", "83", "84", "85"}
	for i, code := range milk {
		require.Equal(t, string(rune('A'+i)), dentition.Universal.Format(tooth(t, code)))
	}
	for code, want := range map[string]string{"16": "6┘", "26": "└6", "36": "┌6", "46": "6┐", "11": "1┘", "55": "E┘",
		"61": "└A", "74": "┌D", "83": "C┐"} {
		require.Equal(t, want, dentition.Quadrant.Format(tooth(t, code)))
	}
	for written, code := range map[string]string{"6⏌": "16", "⎿6": "26", "⎾6": "36", "6⏋": "46", "UR6": "16",
		"UL1": "21", "LL8": "38", "LRE": "85"} {
		got, err := dentition.Quadrant.Parse(written)
		require.NoError(t, err)
		require.Equal(t, code, got.String())
	}
	for _, n := range []dentition.Notation{dentition.ISO, dentition.Universal, dentition.Quadrant} {
		seen := map[string]bool{}
		for id := range dentition.All {
			s := n.Format(id)
			require.False(t, seen[s])
			seen[s] = true
			back, err := n.Parse(s)
			require.NoError(t, err)
			require.Equal(t, id, back)
		}
		for _, s := range []string{"", "0", "33x", "U", "a", "9┘", "┘6", "UR9", "6", "6UR", "F┘", "UR"} {
			if n == dentition.Universal && s == "6" {
				continue
			}
			_, err := n.Parse(s)
			require.ErrorIs(t, err, dentition.ErrTooth, "%v %q", n, s)
		}
		require.Equal(t, "00", n.Format(dentition.NoTooth))
		back, err := dentition.ParseNotation(n.String())
		require.NoError(t, err)
		require.Equal(t, n, back)
	}
	for s, want := range map[string]bool{"51": true, "82": true, "AS": true, "TS": true, "50": false, "83": false, "US": false, "33": false} {
		_, err := dentition.Universal.Parse(s)
		require.ErrorIs(t, err, dentition.ErrTooth)
		require.Equal(t, want, strings.Contains(err.Error(), "supernumerary"), s)
	}
	_, err := dentition.ParseNotation("fdi")
	require.EqualError(t, err, `notation "fdi", must be iso, universal, quadrant`)
	require.Equal(t, "Notation(7)", dentition.Notation(7).String())
}

func TestAreas(t *testing.T) {
	count := func(code string) (n int) {
		a, err := dentition.ParseArea(code)
		require.NoError(t, err)
		require.Equal(t, code, a.String())
		for id := range dentition.All {
			if a.Contains(id) {
				n++
			}
		}
		return n
	}
	require.Equal(t, 52, count("00"))
	require.Equal(t, 26, count("01"))
	require.Equal(t, 26, count("02"))
	sum := 0
	for _, code := range []string{"10", "20", "30", "40"} {
		require.Equal(t, 13, count(code))
	}
	for _, code := range []string{"03", "04", "05", "06", "07", "08"} {
		sum += count(code)
	}
	require.Equal(t, 52, sum, "the sextants hold each tooth once")
	require.True(t, dentition.Area(3).Contains(tooth(t, "14")))
	require.True(t, dentition.Area(6).Contains(tooth(t, "38")))
	require.False(t, dentition.Area(4).Contains(tooth(t, "14")))
	require.Equal(t, "lower front sextant", dentition.Area(7).Name())
	for _, s := range []string{"09", "11", "50", "1", "", "001"} {
		_, err := dentition.ParseArea(s)
		require.Error(t, err, s)
	}
	require.Equal(t, "no area", dentition.Area(9).Name())
	require.False(t, dentition.Area(9).Contains(tooth(t, "11")))
	require.False(t, dentition.Area(255).Valid())
	require.Equal(t, "no area", dentition.Area(255).Name())
	require.False(t, dentition.Area(0).Contains(dentition.NoTooth))
}

// Every deciduous tooth has a permanent successor (ISO 3950: quadrants 5 to 8 in the order
// of 1 to 4); permanent molars have no predecessor.
func TestCounterparts(t *testing.T) {
	deciduous := 0
	for k := range dentition.All {
		o := k.Counterpart()
		if k.Position() > 5 {
			require.Equal(t, dentition.NoTooth, o, k)
			continue
		}
		require.True(t, o.Valid(), k)
		require.NotEqual(t, k.Deciduous(), o.Deciduous())
		require.Equal(t, [3]int{int(k.Jaw()), int(k.Side()), k.Position()}, [3]int{int(o.Jaw()), int(o.Side()), o.Position()})
		require.Equal(t, k, o.Counterpart())
		deciduous++
	}
	require.Equal(t, 40, deciduous)
	require.Equal(t, dentition.NoTooth, dentition.NoTooth.Counterpart())
	require.Equal(t, dentition.NoTooth, dentition.ToothID(19).Counterpart())
}
