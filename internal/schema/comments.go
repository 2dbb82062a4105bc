package schema

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"path"
	"path/filepath"
	"reflect"
	"strconv"
	"strings"
)

// Comments holds the doc comments of the fields of struct types, which are the one place where
// a field is described, and the words of string types. It is read from the source, so only
// tests can have it.
type Comments struct {
	fields map[string]Comment // by package.Type.Field
	words  map[string][]any   // by package.Type
}

// Comment is what the doc comment of a field says: its first paragraph, and the paragraphs that
// begin with "Default:" and "Source:". Further ones are for readers of the code. What a file
// holds stands in back-quotes.
type Comment struct{ Meaning, Default, Source string }

// ReadComments reads the comments of the packages in some folders.
func ReadComments(folders ...string) (*Comments, error) {
	c := &Comments{fields: map[string]Comment{}, words: map[string][]any{}}
	for _, folder := range folders {
		names, err := filepath.Glob(filepath.Join(folder, "*.go"))
		if err != nil {
			return nil, err
		}
		for _, name := range names {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.ParseComments)
			if err != nil {
				return nil, err
			}
			for _, d := range file.Decls {
				if err := c.declaration(file.Name.Name, d); err != nil {
					return nil, fmt.Errorf("%s: %w", name, err)
				}
			}
		}
	}
	return c, nil
}

// declaration keeps the fields of struct types and the constants of string types.
func (c *Comments) declaration(pkg string, d ast.Decl) error {
	g, ok := d.(*ast.GenDecl)
	if !ok {
		return nil
	}
	for _, s := range g.Specs {
		switch s := s.(type) {
		case *ast.TypeSpec:
			if t, ok := s.Type.(*ast.StructType); ok {
				for _, f := range t.Fields.List {
					for _, name := range f.Names {
						c.fields[pkg+"."+s.Name.Name+"."+name.Name] = comment(f.Doc)
					}
				}
			}
		case *ast.ValueSpec:
			of, ok := s.Type.(*ast.Ident)
			if !ok || g.Tok != token.CONST {
				continue
			}
			for _, v := range s.Values {
				if lit, ok := v.(*ast.BasicLit); ok && lit.Kind == token.STRING {
					word, err := strconv.Unquote(lit.Value)
					if err != nil {
						return err
					}
					c.words[pkg+"."+of.Name] = append(c.words[pkg+"."+of.Name], word)
				}
			}
		}
	}
	return nil
}

func comment(doc *ast.CommentGroup) Comment {
	var c Comment
	for i, p := range strings.Split(doc.Text(), "\n\n") {
		p = strings.Join(strings.Fields(p), " ")
		if i == 0 {
			c.Meaning = p
		}
		if text, ok := strings.CutPrefix(p, "Default: "); ok {
			c.Default = text
		}
		if text, ok := strings.CutPrefix(p, "Source: "); ok {
			c.Source = text
		}
	}
	return c
}

// Of returns the comment of a field of a struct type. A field without one is a mistake in the
// program.
func (c *Comments) Of(t reflect.Type, field string) Comment {
	key := path.Base(t.PkgPath()) + "." + t.Name() + "." + field
	out := c.fields[key]
	if out.Meaning == "" {
		panic("schema: " + key + " has no comment that says what it means")
	}
	return out
}

// Describe returns the description of a field in a schema, where nothing marks words; none for
// types themselves. It is the LookupComment of a [jsonschema.Reflector].
func (c *Comments) Describe(t reflect.Type, field string) string {
	if field == "" {
		return ""
	}
	return strings.ReplaceAll(c.Of(t, field).Meaning, "`", "")
}

// Words returns the constants of a string type, in the order of the source; nil where it has
// none.
func (c *Comments) Words(t reflect.Type) []any { return c.words[path.Base(t.PkgPath())+"."+t.Name()] }

// Field is a key of an object.
type Field struct {
	Key  string
	In   reflect.Type // the struct type that declares it
	Name string       // in Go
}

// Fields lists the keys of a struct type with those of the structs that it embeds, in their
// order.
func Fields(t reflect.Type) []Field {
	var out []Field
	for i := range t.NumField() {
		f := t.Field(i)
		key, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case f.Anonymous && key == "":
			out = append(out, Fields(f.Type)...)
		case key != "-" && key != "":
			out = append(out, Field{key, t, f.Name})
		}
	}
	return out
}
