package schema_test

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"github.com/cusptrace/cusptrace/internal/schema"
	"github.com/stretchr/testify/require"
)

const source = `package schema_test

type jaw string

const (
	upper jaw = "upper" // the upper one
	lower jaw = "lower"
)

type size struct {
	// length of the
	// thing; ` + "`null`" + ` where it is not known
	//
	// A remark.
	//
	// Default: that of
	// its kind
	//
	// Source: a book, page 3
	Length *float64
	Width float64
}
`

type (
	jaw  string
	size struct {
		Length *float64 `json:"length"`
		Width  float64  `json:"width,omitempty"`
		Hidden int      `json:"-"`
	}
	box struct {
		Name string `json:"name"`
		size
	}
)

func TestComments(t *testing.T) {
	folder := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(folder, "a.go"), []byte(source), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(folder, "a_test.go"), []byte("not read"), 0o600))
	c, err := schema.ReadComments(folder)
	require.NoError(t, err)
	of := reflect.TypeFor[size]()
	require.Equal(t, schema.Comment{
		Meaning: "length of the thing; `null` where it is not known",
		Default: "that of its kind", Source: "a book, page 3",
	}, c.Of(of, "Length"))
	require.Equal(t, "length of the thing; null where it is not known", c.Describe(of, "Length"))
	require.Empty(t, c.Describe(of, ""))
	require.Panics(t, func() { c.Of(of, "Width") }, "it has no comment")
	require.Equal(t, []any{"upper", "lower"}, c.Words(reflect.TypeFor[jaw]()))
	require.Nil(t, c.Words(reflect.TypeFor[string]()))

	require.NoError(t, os.WriteFile(filepath.Join(folder, "b.go"), []byte("package"), 0o600))
	_, err = schema.ReadComments(folder)
	require.Error(t, err)
}

func TestFieldsWithThoseOfEmbeddedTypes(t *testing.T) {
	of, in := reflect.TypeFor[box](), reflect.TypeFor[size]()
	require.Equal(t, []schema.Field{{"name", of, "Name"}, {"length", in, "Length"}, {"width", in, "Width"}}, schema.Fields(of))
}

func TestFill(t *testing.T) {
	const doc = "# A\n\n<!-- fields: Size -->\n\n| old |\n\n<!-- end -->\n\nText.\n\n<!-- fields: Box -->\n<!-- end -->\n"
	made, err := schema.Fill(doc, func(of string) ([][]string, error) {
		return [][]string{{"key", "of"}, {"`length`", of}}, nil
	})
	require.NoError(t, err)
	table := func(of string) string {
		return "<!-- fields: " + of + " -->\n\n| key | of |\n|---|---|\n| `length` | " + of + " |\n\n<!-- end -->\n"
	}
	require.Equal(t, "# A\n\n"+table("Size")+"\nText.\n\n"+table("Box"), made)

	bad := errors.New("bad")
	_, err = schema.Fill(doc, func(string) ([][]string, error) { return nil, bad })
	require.ErrorIs(t, err, bad)
	for _, broken := range []string{"<!-- fields: Size -->\n\n| old |\n", "<!-- fields: Size"} {
		_, err = schema.Fill(broken, func(string) ([][]string, error) { return nil, nil })
		require.ErrorContains(t, err, "no <!-- end --> follows")
	}
}
