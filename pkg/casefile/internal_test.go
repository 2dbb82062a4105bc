package casefile

import (
	"math/rand/v2"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Every part of every tag is one that the reader understands.
func TestTags(t *testing.T) {
	numbers := []string{"minimum", "maximum", "exclusiveMinimum", "minItems", "maxItems", "minLength", "maxLength"}
	seen := map[reflect.Type]bool{}
	var look func(reflect.Type)
	look = func(ty reflect.Type) {
		switch ty.Kind() {
		case reflect.Pointer, reflect.Slice, reflect.Array, reflect.Map:
			look(ty.Elem())
			return
		case reflect.Struct:
		default:
			return
		}
		if seen[ty] || ty == reflect.TypeFor[Mark]() {
			return
		}
		seen[ty] = true
		for i := range ty.NumField() {
			f := ty.Field(i)
			if f.Tag.Get("json") == "-" {
				continue
			}
			require.NotEmpty(t, f.Tag.Get("json"), f.Name)
			tag := f.Tag.Get("jsonschema")
			for part := range strings.SplitSeq(tag, ",") {
				name, value, _ := strings.Cut(part, "=")
				switch {
				case tag == "", part == "required", name == "enum" && value != "":
				default:
					require.Contains(t, numbers, name, "%s: %s", f.Name, part)
					_, err := strconv.ParseFloat(value, 64)
					require.NoError(t, err, "%s: %s", f.Name, part)
				}
			}
			if usual := f.Tag.Get("usual"); usual != "" {
				r := parseRule(f.Tag)
				require.True(t, r.bounded() && r.min <= r.usualMin && r.usualMin < r.usualMax && r.usualMax <= r.max, f.Name)
			}
			look(f.Type)
		}
	}
	look(reflect.TypeFor[Case]())
	require.Len(t, seen, 22)
}

// The defaults are usual.
func TestDefaultsAreUsual(t *testing.T) {
	c := Default()
	c.Upper.Scan, c.Lower.Scan = "u", "l"
	for _, by := range []Guide{ByTeeth, ByTable, ByNone} {
		c.Settings.Guidance = defaultGuidance(by)
		w, err := c.Check()
		require.NoError(t, err)
		require.Empty(t, w)
	}
}

// slipsBrute is the definition of the distance, by recursion.
func slipsBrute(a, b string) int {
	if a == "" || b == "" {
		return len(a) + len(b)
	}
	ra, rb := a[:len(a)-1], b[:len(b)-1]
	last := 1
	if a[len(a)-1] == b[len(b)-1] {
		last = 0
	}
	n := min(slipsBrute(ra, b)+1, slipsBrute(a, rb)+1, slipsBrute(ra, rb)+last)
	if len(a) > 1 && len(b) > 1 && a[len(a)-1] == b[len(b)-2] && a[len(a)-2] == b[len(b)-1] {
		n = min(n, slipsBrute(a[:len(a)-2], b[:len(b)-2])+1)
	}
	return n
}

func TestSlips(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	word := func() string {
		b := make([]byte, rng.IntN(7))
		for i := range b {
			b[i] = "abc"[rng.IntN(3)]
		}
		return string(b)
	}
	for range 2000 {
		a, b := word(), word()
		require.Equal(t, slipsBrute(a, b), slips(a, b), "%q %q", a, b)
		require.Equal(t, slips(a, b), slips(b, a))
	}
	require.Equal(t, 1, slips("recieve", "receive"))
	require.Equal(t, 3, slips("kitten", "sitting"))
	require.Equal(t, 100, slips(strings.Repeat("a", 101), ""))
	require.Equal(t, 100, slips(strings.Repeat("a", 100), strings.Repeat("b", 100)))
}

func TestNearest(t *testing.T) {
	words := []string{"upper", "lower", "name"}
	require.Equal(t, "upper", nearest("uper", words))
	require.Equal(t, "lower", nearest("LOWER", words))
	require.Equal(t, "name", nearest("nmae", words))
	require.Equal(t, "", nearest("settings", words))
	require.Equal(t, "", nearest("", words))
	require.Equal(t, "ab", nearest("a", []string{"ab", "ac"}), "the first of equals")
	require.Equal(t, "", nearest("x", nil))
	require.Equal(t, "", orList(nil))
	require.Equal(t, "a", orList([]string{"a"}))
	require.Equal(t, "a or b", orList([]string{"a", "b"}))
}
