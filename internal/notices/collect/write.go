package main

import (
	"fmt"
	"strings"
)

// write is the notices of all parts; texts that are the same stand there once.
func write(parts []part) (string, error) {
	var list, all strings.Builder
	number := map[string]int{}
	for _, p := range parts {
		var kinds []string
		for _, text := range p.texts {
			text = tidy(text)
			n, known := number[text]
			kind, err := kindOf(text)
			if err != nil {
				return "", fmt.Errorf("%s: %w", p.name, err)
			}
			if !known {
				n = len(number) + 1
				number[text] = n
				fmt.Fprintf(&all, "\n## Text %d\n\n", n)
				for line := range strings.Lines(text) {
					all.WriteString(strings.TrimRight("    "+line, " \n") + "\n")
				}
			}
			kinds = append(kinds, fmt.Sprintf("%s ([text %d](#text-%d))", kind, n, n))
		}
		fmt.Fprintf(&list, "| %s | %s | %s |\n", p.name, p.version, strings.Join(kinds, ", "))
	}
	return "# Third-party notices\n\nWhat the command contains, and the licences under which it may. " +
		"`go generate ./internal/notices` writes this\nfile from the module cache and from node_modules.\n\n" +
		"| part | version | licence |\n|---|---|---|\n" + list.String() + all.String(), nil
}

// tidy leaves out what does not show: carriage returns, spaces at the ends of
// lines, empty lines at both ends.
func tidy(text string) string {
	var b strings.Builder
	for line := range strings.Lines(strings.ReplaceAll(text, "\r\n", "\n")) {
		b.WriteString(strings.TrimRight(strings.ReplaceAll(line, "\f", ""), " \t\n") + "\n")
	}
	return strings.Trim(b.String(), "\n") + "\n"
}

// kindOf names a licence by its SPDX identifier. A licence that is not among
// these needs a look before it is added.
func kindOf(text string) (string, error) {
	text = strings.Join(strings.Fields(text), " ")
	has := func(s string) bool { return strings.Contains(text, s) }
	switch {
	case has("Apache License") && has("Version 2.0"):
		return "Apache-2.0", nil
	case has("Boost Software License - Version 1.0"):
		return "BSL-1.0", nil
	case has("Permission is hereby granted, free of charge"):
		return "MIT", nil
	case has("Redistribution and use in source and binary forms") && (has("Neither the name") || has("The names of its contributors may not")):
		return "BSD-3-Clause", nil
	case has("Redistribution and use in source and binary forms"):
		return "BSD-2-Clause", nil
	case has("Permission to use, copy, modify, and distribute this software is freely granted"):
		return "SunPro", nil
	case has("Copyright (C) 2014 by Ignace Bogaert"):
		return "a disclaimer alone", nil
	}
	return "", fmt.Errorf("a licence that is not known here, beginning %.200q", text)
}
