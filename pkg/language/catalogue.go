package language

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode"
)

// A catalogue is UTF-8 text:
//
//	# a comment
//	language = en
//	decimal = .
//	some.key = The {tooth} has {count?one stop|# stops}[, {share:%.0f} % of them stable].
//	  A line that begins with a space goes on with the one before.
//	list.comma = ", "
//
// {name} is what the code gives under that name, {name:%.1f} a number in the manner of
// [fmt.Sprintf], {name?one|more} a choice by a number or the length of a list, in which
// # is the number. Brackets enclose what is left out where a name inside has nothing to
// say. A value in double quotes keeps its outer spaces.

// part is a piece of a template: words, a placeholder, or an optional part.
type part struct {
	words    string
	name     string // of a placeholder
	verb     string // of a number, empty for the plain form
	one      []part // of a choice
	more     []part
	optional []part
	count    bool // the number itself, in a choice
}

var (
	keyForm  = regexp.MustCompile(`^[a-z0-9_]+(\.[a-z0-9_]+)*$`)
	nameForm = regexp.MustCompile(`^[a-z][a-z0-9_]*$`)
	verbForm = regexp.MustCompile(`^%\+?(\.[0-9])?[dfg]$`)
)

// parse reads a catalogue without comparing it with another.
func parse(file, text string) (*Language, error) {
	l := &Language{entries: map[string]entry{}}
	type raw struct {
		key, value string
		line       int
	}
	var all []raw
	for i, s := range strings.Split(text, "\n") {
		s = strings.TrimSuffix(s, "\r")
		trimmed := strings.TrimSpace(s)
		switch {
		case trimmed == "" || strings.HasPrefix(trimmed, "#"):
			continue
		case unicode.IsSpace([]rune(s)[0]):
			if len(all) == 0 {
				return nil, fmt.Errorf("%s:%d: nothing to go on with; a key begins its line", file, i+1)
			}
			all[len(all)-1].value += " " + trimmed
			continue
		}
		key, value, ok := strings.Cut(trimmed, "=")
		if key = strings.TrimSpace(key); !ok || !keyForm.MatchString(key) {
			return nil, fmt.Errorf("%s:%d: not of the form key = template", file, i+1)
		}
		all = append(all, raw{key, strings.TrimSpace(value), i + 1})
	}
	for _, r := range all {
		if n := len(r.value); n >= 2 && r.value[0] == '"' && r.value[n-1] == '"' {
			r.value = r.value[1 : n-1]
		}
		if old, ok := l.entries[r.key]; ok {
			return nil, fmt.Errorf("%s:%d: %s stands already in line %d", file, r.line, r.key, old.line)
		}
		switch r.key {
		case "language":
			l.code = r.value
			continue
		case "decimal":
			l.decimal = r.value
			continue
		}
		p := parser{s: r.value}
		parts, err := p.template(topLevel)
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %s: %w", file, r.line, r.key, err)
		}
		l.entries[r.key] = entry{parts, r.line}
	}
	if l.code == "" || l.decimal == "" {
		return nil, fmt.Errorf("%s: it must say its language and decimal, as in: language = en", file)
	}
	return l, nil
}

// parser reads a template from its start.
type parser struct{ s string }

// level is what a template is part of.
type level uint8

const (
	topLevel    level = iota
	inBrackets        // ends at ]
	inOne             // ends at |
	inMore            // ends at }
	choiceSigns = "#|}"
)

// template reads until the end of its level, which it takes too.
func (p *parser) template(at level) ([]part, error) {
	var out []part
	end := map[level]byte{inBrackets: ']', inOne: '|', inMore: '}'}[at]
	words := func(s string) {
		if n := len(out); n > 0 && out[n-1].words != "" {
			out[n-1].words += s
		} else {
			out = append(out, part{words: s})
		}
	}
	for p.s != "" {
		c, sign := p.s[0], p.s[:1]
		p.s = p.s[1:]
		switch {
		case end != 0 && c == end:
			return out, nil
		case c == '{':
			ph, err := p.placeholder(at)
			if err != nil {
				return nil, err
			}
			out = append(out, ph)
		case c == '[' && at == topLevel:
			inner, err := p.template(inBrackets)
			if err != nil {
				return nil, err
			}
			if len(inner) == 0 || !named(inner) {
				return nil, fmt.Errorf("brackets without a placeholder would never be left out")
			}
			out = append(out, part{optional: inner})
		case c == '#' && (at == inOne || at == inMore):
			out = append(out, part{count: true})
		case strings.IndexByte("[]{}", c) >= 0:
			return nil, fmt.Errorf("a %c has no place here", c)
		default:
			words(sign)
		}
	}
	if at != topLevel {
		return nil, fmt.Errorf("it ends before its %c", end)
	}
	return out, nil
}

func named(parts []part) bool {
	for _, p := range parts {
		if p.name != "" {
			return true
		}
	}
	return false
}

// placeholder reads what follows an opening brace.
func (p *parser) placeholder(at level) (part, error) {
	if at == inOne || at == inMore {
		return part{}, fmt.Errorf("a choice holds words and # only")
	}
	i := strings.IndexAny(p.s, "}:?")
	if i < 0 {
		return part{}, fmt.Errorf("it ends before its }")
	}
	out := part{name: p.s[:i]}
	if !nameForm.MatchString(out.name) {
		return out, fmt.Errorf("{%s is not the name of a placeholder", out.name)
	}
	sign := p.s[i]
	p.s = p.s[i+1:]
	switch sign {
	case ':':
		verb, rest, ok := strings.Cut(p.s, "}")
		if !ok || !verbForm.MatchString(verb) {
			return out, fmt.Errorf("{%s:%s is not written like {name:%%.1f}", out.name, verb)
		}
		out.verb, p.s = verb, rest
	case '?':
		var err error
		if out.one, err = p.template(inOne); err != nil {
			return out, err
		}
		if out.more, err = p.template(inMore); err != nil {
			return out, err
		}
		if len(out.one)+len(out.more) == 0 {
			return out, fmt.Errorf("{%s?|} chooses between nothing", out.name)
		}
	}
	return out, nil
}

// number writes a number in the manner of a verb.
func (l *Language) number(verb string, v any) string {
	s := ""
	switch x := v.(type) {
	case int:
		if strings.HasSuffix(verb, "d") {
			s = strconv.Itoa(x)
		} else {
			s = fmt.Sprintf(verb, float64(x))
		}
	case float64:
		if strings.HasSuffix(verb, "d") {
			verb = "%.0f"
		}
		s = fmt.Sprintf(verb, x)
	default:
		return fmt.Sprint(v)
	}
	return strings.Replace(s, ".", l.decimal, 1)
}
