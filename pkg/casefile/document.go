package casefile

import (
	"bytes"
	"errors"
	"fmt"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"

	"github.com/cusptrace/cusptrace/internal/faults"
	"github.com/cusptrace/cusptrace/internal/plaintext"
)

// Limits on what is taken for a case file at all, since the YAML parser's time
// can grow with the square of the size. A real case has a few dozen lines; two
// recorded paths of 1000 points each have 40 kB and 12,000 tokens.
const (
	maxBytes   = 1 << 18
	maxTokens  = 20_000
	maxNesting = 20
)

// document reads the text as one YAML document. The fault names its place but
// not the file.
func document(data []byte) (ast.Node, *faults.Fault) {
	if len(data) > maxBytes {
		return nil, fault(ErrSyntax, "%d bytes, a case file has at most %d", len(data), maxBytes)
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if f := text(data); f != nil {
		return nil, f
	}
	tokens := lexer.Tokenize(string(data))
	if len(tokens) > maxTokens {
		return nil, fault(ErrSyntax, "%d words and signs, a case file has at most %d", len(tokens), maxTokens)
	}
	if f := nesting(tokens); f != nil {
		return nil, f
	}
	// Duplicate keys are found here, to name them like all other faults.
	file, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		f := fault(ErrSyntax, "%v", err)
		var syntax *yaml.SyntaxError
		if errors.As(err, &syntax) {
			f = fault(ErrSyntax, "%s", syntax.Message)
			at(f, syntax.Token)
		}
		return nil, f
	}
	var root ast.Node
	for _, d := range file.Docs {
		if d.Body == nil {
			continue
		}
		if dir, ok := d.Body.(*ast.DirectiveNode); ok {
			if s := dir.String(); s != "%YAML 1.2" {
				return nil, at(fault(ErrSyntax, "directive %q, only %%YAML 1.2 is known", short(s)), dir.GetToken())
			}
			continue
		}
		if root != nil {
			return nil, at(fault(ErrSyntax, "a second document, a case file holds one"), start(d.Body))
		}
		root = d.Body
	}
	if root == nil {
		return nil, fault(ErrSyntax, "the file is empty, it must at least name the scans: upper: {scan: …} and lower: {scan: …}")
	}
	return root, nil
}

// text refuses what cannot be YAML: other encodings and binary files.
func text(data []byte) *faults.Fault {
	line, column := 1, 1
	for len(data) > 0 {
		r, n := utf8.DecodeRune(data)
		if r == utf8.RuneError && n == 1 || plaintext.Steers(r) && r != '\n' && r != '\r' && r != '\t' {
			f := fault(ErrSyntax, "byte 0x%02x, a case file is YAML or JSON text in UTF-8", data[0])
			if n > 1 {
				f = fault(ErrSyntax, "the control character %U, a case file is plain text", r)
			}
			f.Line, f.Column = line, column
			return f
		}
		column++
		if r == '\n' {
			line, column = line+1, 1
		}
		data = data[n:]
	}
	return nil
}

// nesting refuses lists within lists beyond all need.
func nesting(tokens token.Tokens) *faults.Fault {
	flow, entries, line := 0, 0, 0
	for _, t := range tokens {
		if t.Position.Line != line {
			line, entries = t.Position.Line, 0
		}
		switch t.Type {
		case token.SequenceStartType, token.MappingStartType:
			flow++
		case token.SequenceEndType, token.MappingEndType:
			flow--
		case token.SequenceEntryType, token.MappingKeyType, token.TagType, token.AnchorType:
			entries++
		}
		if flow > maxNesting || entries > maxNesting {
			return at(fault(ErrSyntax, "nested more than %d deep", maxNesting), t)
		}
	}
	return nil
}

// fault is a fault without a place.
func fault(kind error, format string, args ...any) *faults.Fault {
	return &faults.Fault{Err: fmt.Errorf("%w: %s", kind, fmt.Sprintf(format, args...))}
}

// at puts the fault at the token.
func at(f *faults.Fault, t *token.Token) *faults.Fault {
	if t != nil && t.Position != nil {
		f.Line, f.Column = t.Position.Line, t.Position.Column
	}
	return f
}

// short keeps a message readable whatever was found.
func short(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}
