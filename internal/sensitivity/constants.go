package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"slices"
	"strconv"
	"strings"
)

// constant is a number that a file gives a name: a constant or a field of a literal.
type constant struct {
	name, text string
	offset     int // of text in the file
}

// constants lists the named numbers of a file in the order in which they stand. Numbers that
// are 0 or 1, and what is computed from others, say no size of their own.
func constants(file string, source []byte) ([]constant, error) {
	set := token.NewFileSet()
	f, err := parser.ParseFile(set, file, source, parser.SkipObjectResolution)
	if err != nil {
		return nil, err
	}
	var out []constant
	add := func(name *ast.Ident, e ast.Expr) {
		l, ok := e.(*ast.BasicLit)
		if !ok || l.Kind != token.INT && l.Kind != token.FLOAT {
			return
		}
		if x, err := strconv.ParseFloat(l.Value, 64); err == nil && x != 0 && x != 1 {
			out = append(out, constant{name.Name, l.Value, set.Position(l.Pos()).Offset})
		}
	}
	ast.Inspect(f, func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.GenDecl:
			if x.Tok != token.CONST {
				return true
			}
			for _, s := range x.Specs {
				v := s.(*ast.ValueSpec)
				for i := range min(len(v.Names), len(v.Values)) {
					add(v.Names[i], v.Values[i])
				}
			}
			return false
		case *ast.KeyValueExpr:
			if name, ok := x.Key.(*ast.Ident); ok {
				add(name, x.Value)
			}
		}
		return true
	})
	return out, nil
}

// times is the file with the constant multiplied; whole numbers stay whole. It is nil where
// that changes nothing.
func (c *constant) times(source []byte, factor float64) []byte {
	x, _ := strconv.ParseFloat(c.text, 64)
	text := strconv.FormatFloat(x*factor, 'g', 6, 64)
	if _, err := strconv.Atoi(c.text); err == nil {
		text = strconv.Itoa(int(math.Round(x * factor)))
	} else if !strings.ContainsAny(text, ".e") {
		text += ".0" // it stays no whole number where its type follows from it
	}
	if text == c.text {
		return nil
	}
	return slices.Concat(source[:c.offset], []byte(text), source[c.offset+len(c.text):])
}
