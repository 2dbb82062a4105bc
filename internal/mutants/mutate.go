package main

import (
	"bytes"
	"context"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os/exec"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// A mutant is one change of a file.
type mutant struct {
	Line     int
	Old, New string
	offset   int // of Old in the file
	// Of an operator: itself, where the expression and its operands begin and end, and its
	// number in the package, from 1.
	op                       token.Token
	first, left, right, last int
	number                   int
}

func (m *mutant) apply(source []byte) []byte {
	return slices.Concat(source[:m.offset], []byte(m.New), source[m.offset+len(m.Old):])
}

// swaps is what each operator is changed into.
var swaps = map[token.Token]token.Token{
	token.LSS: token.LEQ, token.LEQ: token.LSS, token.GTR: token.GEQ, token.GEQ: token.GTR,
	token.EQL: token.NEQ, token.NEQ: token.EQL, token.LAND: token.LOR, token.LOR: token.LAND,
}

// sameMark marks a line whose changes would mean the same, or that of one operator that stands
// behind it: "mutants: same >=: why".
const sameMark = "mutants: same"

// same says whether a line says that a change of an operator or number on it would mean the same.
func same(line []byte, old string) bool {
	_, why, marked := strings.Cut(string(line), sameMark)
	only, _, named := strings.Cut(why, ":")
	if only = strings.TrimSpace(only); named && !strings.HasPrefix(why, ",") {
		return only == old
	}
	return marked
}

// mutants names the package of a file and lists its changes: each comparison and each logical operator swapped, each
// number of a constant made larger by a tenth, or by 1 where it is whole.
func mutants(file string, source []byte) (name string, list []mutant, err error) {
	set := token.NewFileSet()
	f, err := parser.ParseFile(set, file, source, parser.SkipObjectResolution)
	if err != nil {
		return "", nil, err
	}
	lines := bytes.Split(source, []byte("\n"))
	var out []mutant
	add := func(at token.Pos, old, with string, x *ast.BinaryExpr) {
		p := set.Position(at)
		if same(lines[p.Line-1], old) {
			return
		}
		m := mutant{Line: p.Line, Old: old, New: with, offset: p.Offset}
		if x != nil {
			off := func(at token.Pos) int { return set.Position(at).Offset }
			m.op, m.first, m.left, m.right, m.last = x.Op, off(x.Pos()), off(x.X.End()), off(x.Y.Pos()), off(x.End())
		}
		out = append(out, m)
	}
	ast.Inspect(f, func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.BinaryExpr:
			if with, ok := swaps[x.Op]; ok && !isNil(x.X) && !isNil(x.Y) {
				add(x.OpPos, x.Op.String(), with.String(), x)
			}
		case *ast.GenDecl:
			if x.Tok == token.CONST {
				ast.Inspect(x, func(n ast.Node) bool {
					if l, ok := n.(*ast.BasicLit); ok {
						if with, ok := larger(l); ok {
							add(l.Pos(), l.Value, with, nil)
						}
					}
					return true
				})
			}
			return x.Tok != token.CONST
		}
		return true
	})
	slices.SortStableFunc(out, func(a, b mutant) int { return a.offset - b.offset })
	return f.Name.Name, out, nil
}

// isNil says whether an expression is nil: where a value may be missing, the other way round
// is a crash.
func isNil(e ast.Expr) bool {
	id, ok := e.(*ast.Ident)
	return ok && id.Name == "nil"
}

// larger is a number literal a little larger.
func larger(l *ast.BasicLit) (string, bool) {
	switch l.Kind {
	case token.INT:
		n, err := strconv.Atoi(l.Value)
		return strconv.Itoa(n + 1), err == nil
	case token.FLOAT:
		x, err := strconv.ParseFloat(l.Value, 64)
		return strconv.FormatFloat(1.1*x, 'g', -1, 64), err == nil && x != 0
	}
	return "", false
}

// hunk is the head of a piece of a difference: the lines of the new file.
var hunk = regexp.MustCompile(`^@@ -\S+ \+(\d+)(?:,(\d+))? @@`)

// changed is the lines of a file that differ from a commit; nil for all where none is named.
func changed(ctx context.Context, file, since string) (map[int]bool, error) {
	if since == "" {
		return nil, nil
	}
	text, err := exec.CommandContext(ctx, "git", "diff", "--unified=0", since, "--", file).Output()
	if err != nil {
		return nil, fmt.Errorf("git diff %s: %w", since, err)
	}
	out := map[int]bool{}
	for line := range strings.Lines(string(text)) {
		m := hunk.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		first, _ := strconv.Atoi(m[1])
		count := 1
		if m[2] != "" {
			count, _ = strconv.Atoi(m[2])
		}
		for i := range count {
			out[first+i] = true
		}
	}
	return out, nil
}
