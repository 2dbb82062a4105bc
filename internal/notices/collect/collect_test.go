package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestNoticesAreFresh(t *testing.T) {
	root := filepath.Join("..", "..", "..")
	if _, err := os.Stat(filepath.Join(root, filepath.FromSlash(viewFolder), "node_modules", "three")); err != nil {
		t.Skip("the 3D view is not built: go generate ./pkg/report")
	}
	made, err := notices(root)
	require.NoError(t, err)
	committed, err := os.ReadFile(filepath.Join("..", "THIRD_PARTY.md"))
	require.NoError(t, err)
	require.Equal(t, string(committed), made, "go generate ./internal/notices writes it anew")
}

func TestLicencesThatAreNotKnownAreRefused(t *testing.T) {
	_, err := write([]part{{name: "x", texts: []string{"Creative Commons Attribution 4.0 International Public License"}}})
	require.ErrorContains(t, err, "x: a licence that is not known here")
	_, err = licences(t.TempDir(), nil)
	require.ErrorContains(t, err, "no licence")
}

func TestSameTextsStandOnce(t *testing.T) {
	mit := "Permission is hereby granted, free of charge\r\n\r\n"
	out, err := write([]part{{"a", "v1", []string{mit}},
		{"b", "v2", []string{strings.ReplaceAll(mit, "\r", ""), "Apache License Version 2.0"}}})
	require.NoError(t, err)
	require.Contains(t, out, "| a | v1 | MIT ([text 1](#text-1)) |\n| b | v2 | MIT ([text 1](#text-1)), Apache-2.0 ([text 2](#text-2)) |\n")
	require.Equal(t, 1, strings.Count(out, "    Permission"))
}
