package architecture

import (
	"go/parser"
	"go/token"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestNothingUnwantedIsLinked holds what whoever embeds a package gets with it:
// the packages, ours and others', that end up in the program.
func TestNothingUnwantedIsLinked(t *testing.T) {
	network := []string{"net", "net/http", "net/rpc", "net/smtp", "crypto/tls"}
	files := []string{
		"github.com/goccy/go-yaml", "go.yaml.in/yaml", "gopkg.in/yaml.v3",
		"github.com/invopop/jsonschema", "github.com/santhosh-tekuri/jsonschema",
	}
	tests := []string{"testing", "github.com/stretchr/testify", "github.com/unixpickle/model3d"}
	for _, c := range []struct {
		packages string
		forbid   [][]string
	}{
		{"pkg/...", [][]string{network, tests, {"github.com/invopop/jsonschema", "github.com/santhosh-tekuri/jsonschema"}}},
		// The command's flags may be IP addresses, so pflag links net; nothing in it
		// opens a connection, for which net/http and crypto/tls would be signs.
		{"cmd/cusptrace", [][]string{network[1:], tests}},
		{"cmd/cusptrace-serve", [][]string{{"net/rpc", "net/smtp"}, tests}},              // answers on 127.0.0.1
		{"pkg/report", [][]string{{module + "internal/qp", module + "internal/mincut"}}}, // reading a document solves nothing
		{"pkg/mesh", [][]string{files}},
		{"pkg/kinematics", [][]string{files}},
		{"pkg/contact", [][]string{files}},
		// To present findings no equation is solved and no arch is cut into teeth.
		{"pkg/report", [][]string{{module + "internal/qp", module + "internal/mincut"}}},
	} {
		t.Run(c.packages, func(t *testing.T) {
			linked := dependencies(t, c.packages)
			require.Greater(t, len(linked), 20, "go list lists what is linked")
			for _, unwanted := range slices.Concat(c.forbid...) {
				for _, p := range linked {
					require.False(t, p == unwanted || strings.HasPrefix(p, unwanted+"/") && strings.Contains(unwanted, "."),
						"%s links %s: see go list -deps -f '{{.ImportPath}} {{.Imports}}' ./%[1]s", c.packages, p)
				}
			}
		})
	}
}

// dependencies lists the import paths of everything that packages of this module
// link, tests left out.
func dependencies(t *testing.T, packages string) []string {
	cmd := exec.Command("go", "list", "-deps", "./"+packages)
	cmd.Dir = "../.."
	var stderr strings.Builder
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	require.NoError(t, err, stderr.String())
	return strings.Fields(string(out))
}

// Only the page on this machine speaks HTTP.
func TestOnlyServeLinksHTTP(t *testing.T) {
	sources(t, func(pkg, path string) {
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		require.NoError(t, err)
		for _, im := range f.Imports {
			require.True(t, pkg == "internal/serve" || im.Path.Value != `"net/http"` && im.Path.Value != `"net"`,
				"%s imports %s", path, im.Path.Value)
		}
	})
}
