package cli

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/spf13/cobra"
)

func newSchema() *cobra.Command {
	return &cobra.Command{
		Use:   "schema case|findings",
		Short: "Print the JSON Schema of the case file or of the findings",
		Long: `schema prints the JSON Schema (draft 2020-12) of the case file, by which editors
complete and check it, or of findings.json, for programs that read it.`,
		Example:   "  cusptrace schema case > case.schema.json\n  cusptrace schema findings > findings.schema.json",
		ValidArgs: []string{"case", "findings"},
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 1 && (args[0] == "case" || args[0] == "findings") {
				return nil
			}
			return fmt.Errorf("say which schema: case or findings")
		},
		RunE: func(c *cobra.Command, args []string) error {
			of := casefile.Schema
			if args[0] == "findings" {
				of = findings.Schema
			}
			_, err := c.OutOrStdout().Write(of())
			return err
		},
	}
}
