package language

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// tooth is a tooth as a sentence names it.
type tooth dentition.ToothID

func (t tooth) In(n dentition.Notation) string { return n.Format(dentition.ToothID(t)) }

// small is a catalogue for tests of the form alone.
const small = `
language = en
decimal = .
list = {items}
list.comma = ", "
list.and = " and "
list.semicolon = "; "
list.sentence = " "
clear = Tooth {tooth}: {mm:%.1f} mm clearance[ at {at:%.4g} mm][ ({why})].
stops = {count?one stop|# stops} on {teeth?tooth|teeth} {teeth}.
long = öne
  two
	three
`

func read(t *testing.T, text string) *Language {
	t.Helper()
	l, err := parse("small.txt", text)
	require.NoError(t, err)
	return l
}

func TestSentences(t *testing.T) {
	l := read(t, small)
	for _, c := range []struct {
		want string
		say  Sentence
	}{
		{"", Sentence{}},
		{"as it was", Literal("as it was")},
		{"öne two three", Say("long")},
		{"Tooth 16: 1.3 mm clearance at 3 mm.", Say("clear", With{"tooth": tooth(16), "mm": 1.26, "at": 3.0})},
		{"Tooth 16: 1.3 mm clearance (öne two three).", Say("clear", With{"tooth": tooth(16), "mm": 1.26, "why": Say("long")})},
		{"Tooth 16: 1.3 mm clearance.", Say("clear", With{"tooth": tooth(16), "mm": 1.26, "why": ""})},
		{"one stop on tooth 16.", Say("stops", With{"count": 1, "teeth": Commas([]tooth{16})})},
		{"0 stops on teeth 11, 21 and 36.", Say("stops", With{"count": 0, "teeth": And([]tooth{11, 21, 36})})},
		{"{nowhere}", Say("nowhere")},
		{"Tooth {tooth}: 0.0 mm clearance.", Say("clear", With{"mm": 0})},
		{"", Join(Commas([]tooth{}))},
		{"16; 26", Join(Semicolons([]tooth{16, 26}))},
		{"a b", Join(Text([]string{"a", "b"}))},
	} {
		require.Equal(t, c.want, l.Write(c.say, dentition.ISO))
	}
	universal := l.Write(Say("clear", With{"tooth": tooth(16), "mm": 1.0}), dentition.Universal)
	require.Equal(t, "Tooth 3: 1.0 mm clearance.", universal, "a tooth is written in the notation, a number is not")
}

// A language writes numbers with its own decimal sign.
func TestDecimalSign(t *testing.T) {
	l := read(t, strings.Replace(small, "decimal = .", "decimal = ,", 1))
	require.Equal(t, "Tooth 16: 1,3 mm clearance at 0,5 mm.",
		l.Write(Say("clear", With{"tooth": tooth(16), "mm": 1.26, "at": 0.5}), dentition.ISO))
	require.Equal(t, "1,25\u00a0mm", l.Quantity(MM(1.25)))
	require.Equal(t, "-3\u00a0µm", l.Quantity(Um(-3)))
	require.Equal(t, "12,5°", l.Quantity(Deg(12.5)))
}

// Files hold a sentence in its language; what is read back stays as it is written.
func TestSentenceInFiles(t *testing.T) {
	l := read(t, small)
	s := Say("clear", With{"tooth": tooth(16), "mm": 2.0}).Speaking(l)
	b, err := json.Marshal(s)
	require.NoError(t, err)
	require.Equal(t, `"Tooth 16: 2.0 mm clearance."`, string(b))
	var back Sentence
	require.NoError(t, json.Unmarshal(b, &back))
	require.Equal(t, s.In(dentition.ISO), back.In(dentition.Universal))
	require.False(t, back.Empty())
	require.True(t, Sentence{}.Empty())
}

func TestMistakesInACatalogue(t *testing.T) {
	for text, want := range map[string]string{
		"a":                        "f:1: not of the form key = template",
		"  a = b":                  "f:1: nothing to go on with; a key begins its line",
		"A b = c":                  "f:1: not of the form key = template",
		"a = b\n\na = c":           "f:3: a stands already in line 1",
		"a = {":                    "f:1: a: it ends before its }",
		"a = {B}":                  "f:1: a: {B is not the name of a placeholder",
		"a = {b:%s}":               "f:1: a: {b:%s is not written like {name:%.1f}",
		"a = {b?one":               "f:1: a: it ends before its |",
		"a = {b?one|two":           "f:1: a: it ends before its }",
		"a = {b?|}":                "f:1: a: {b?|} chooses between nothing",
		"a = {b?{c}|}":             "f:1: a: a choice holds words and # only",
		"a = [b]":                  "f:1: a: brackets without a placeholder would never be left out",
		"a = [{b}":                 "f:1: a: it ends before its ]",
		"a = b]":                   "f:1: a: a ] has no place here",
		"a = [{b} [{c}]]":          "f:1: a: a [ has no place here",
		"a = b":                    "f: it must say its language and decimal, as in: language = en",
		"language = en\nlist = {a": "f:2: list: it ends before its }",
	} {
		_, err := parse("f", text)
		require.EqualError(t, err, want, text)
	}
}

// Another language has the keys of English, all of them and no more, and speaks of
// what English speaks of.
func TestParseComparesWithEnglish(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{"", "", ""},
		{`list.and = " and "`, "", "xx.txt: no template for list.and"},
		{"list = {items}", "list = {things}", ": list knows no {things}, only items"},
		{"list.comma =", "quite.new = x\nlist.comma =", ": unknown key quite.new"},
	} {
		_, err := Parse("xx.txt", strings.Replace(englishText, c.old, c.new, 1))
		if c.want == "" {
			require.NoError(t, err)
		} else {
			require.ErrorContains(t, err, c.want)
		}
	}
	_, err := Parse("xx.txt", "language = xx\ndecimal = .")
	require.ErrorContains(t, err, "xx.txt: no template for ")
}

// Whatever a catalogue says, reading and writing it ends well.
func FuzzParse(f *testing.F) {
	f.Add(small)
	f.Add("language = a\ndecimal = ,\nb = {c?#|#}[ {d:%+.3f}]")
	f.Fuzz(func(t *testing.T, text string) {
		l, err := parse("f", text)
		if err != nil {
			require.ErrorContains(t, err, "f:")
			return
		}
		for _, k := range l.Keys() {
			with := With{}
			for _, p := range l.Placeholders(k) {
				require.Contains(t, text, "{"+p)
				with[p] = 1
			}
			l.Write(Say(k, with), dentition.ISO)
			l.Write(Say(k), dentition.Universal)
		}
	})
}
