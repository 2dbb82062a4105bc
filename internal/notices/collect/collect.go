package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
)

// part is something the command contains, with its licence texts.
type part struct {
	name, version string
	texts         []string
}

// systems are the builds whose modules are listed.
var systems = [...][2]string{{"linux", "amd64"}, {"darwin", "arm64"}, {"windows", "amd64"}, {"js", "wasm"}}

// notices is the text for the module in a folder.
func notices(root string) (string, error) {
	golang, err := goItself(root)
	if err != nil {
		return "", err
	}
	modules, err := goModules(root)
	if err != nil {
		return "", err
	}
	packages, err := npmPackages(filepath.Join(root, filepath.FromSlash(viewFolder)))
	if err != nil {
		return "", err
	}
	return write(slices.Concat([]part{golang}, modules, packages))
}

// goItself is the Go runtime and standard library.
func goItself(root string) (part, error) {
	out, err := output(root, nil, "env", "GOROOT")
	if err != nil {
		return part{}, err
	}
	text, err := os.ReadFile(filepath.Join(strings.TrimSpace(out), "LICENSE"))
	if errors.Is(err, fs.ErrNotExist) { // as Debian's packages have it
		text, err = os.ReadFile("/usr/share/doc/golang-" + strings.TrimPrefix(strings.TrimPrefix(runtime.Version(), "go"), "v") + "-go/copyright")
	}
	return part{name: "Go (runtime and standard library)", texts: []string{string(text)}}, err
}

// goModules are the modules that any build of the command links.
func goModules(root string) ([]part, error) {
	folders := map[[2]string]string{} // by path and version
	linked := map[string]bool{}
	for _, s := range systems {
		out, err := output(root, []string{"GOOS=" + s[0], "GOARCH=" + s[1]}, "list", "-deps",
			"-f", "{{.ImportPath}}\t{{with .Module}}{{if not .Main}}{{.Path}}\t{{.Version}}\t{{.Dir}}{{end}}{{end}}", "./cmd/cusptrace")
		if err != nil {
			return nil, err
		}
		for line := range strings.Lines(out) {
			f := strings.Split(strings.TrimSuffix(line, "\n"), "\t")
			linked[f[0]] = true
			if len(f) == 4 {
				folders[[2]string{f[1], f[2]}] = f[3]
			}
		}
	}
	var parts []part
	for _, m := range slices.SortedFunc(maps.Keys(folders), func(a, b [2]string) int { return strings.Compare(a[0], b[0]) }) {
		texts, err := licences(folders[m], func(file string) bool { return concerns(m[0], file, linked) })
		if err != nil {
			return nil, err
		}
		parts = append(parts, part{m[0], m[1], texts})
	}
	return parts, nil
}

// concerns says whether a licence file of a module is about packages that are
// linked. gonum keeps the licences of what it took over in a folder, named after
// their origin.
func concerns(module, file string, linked map[string]bool) bool {
	if module != "gonum.org/v1/gonum" {
		return true
	}
	for prefix, only := range map[string]string{"W3C-": "graph/formats/rdf", "MT19937": "mathext/prng"} {
		if strings.HasPrefix(file, prefix) {
			return linked[module+"/"+only]
		}
	}
	return true
}

// viewFolder holds the source of the 3D view.
const viewFolder = "pkg/report/internal/view"

// npmPackages are the packages that the 3D view is bundled from.
func npmPackages(view string) ([]part, error) {
	data, err := os.ReadFile(filepath.Join(view, "package-lock.json"))
	if err != nil {
		return nil, err
	}
	var lock struct {
		Packages map[string]struct {
			Version string
			Dev     bool
		}
	}
	if err := json.Unmarshal(data, &lock); err != nil {
		return nil, fmt.Errorf("package-lock.json: %w", err)
	}
	var parts []part
	for _, path := range slices.Sorted(maps.Keys(lock.Packages)) {
		p := lock.Packages[path]
		if path == "" || p.Dev {
			continue
		}
		texts, err := licences(filepath.Join(view, filepath.FromSlash(path)), func(string) bool { return true })
		if err != nil {
			return nil, fmt.Errorf("%w (go generate ./pkg/report installs it)", err)
		}
		parts = append(parts, part{strings.TrimPrefix(path, "node_modules/") + " (npm, in the 3D view)", p.Version, texts})
	}
	return parts, nil
}

var (
	licenceName = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice)`)
	// Folders with licences of parts, and the file beside the fonts of x/image.
	licenceMore = []string{"THIRD_PARTY_LICENSES/*", "font/gofont/ttfs/README"}
)

// licences are the licence texts of a folder of source, those that concern us.
func licences(folder string, concerns func(file string) bool) ([]string, error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, err
	}
	var files []string
	for _, e := range entries {
		if licenceName.MatchString(e.Name()) && e.Type().IsRegular() {
			files = append(files, filepath.Join(folder, e.Name()))
		}
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("%s: no licence", folder)
	}
	for _, pattern := range licenceMore {
		more, err := filepath.Glob(filepath.Join(folder, filepath.FromSlash(pattern)))
		if err != nil {
			return nil, err
		}
		files = append(files, more...)
	}
	var texts []string
	for _, f := range files {
		if !concerns(filepath.Base(f)) {
			continue
		}
		text, err := os.ReadFile(f)
		if err != nil {
			return nil, err
		}
		texts = append(texts, string(text))
	}
	return texts, nil
}

func output(root string, environment []string, args ...string) (string, error) {
	cmd := exec.Command("go", args...)
	cmd.Dir = root
	cmd.Env = append(os.Environ(), environment...)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		return "", fmt.Errorf("go %s: %w: %s", strings.Join(args, " "), err, stderr.String())
	}
	return string(out), nil
}
