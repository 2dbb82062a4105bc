package cli

import (
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/spf13/cobra"
)

func newSchema() *cobra.Command {
	return &cobra.Command{
		Use:       "schema case|findings",
		Short:     "Print the JSON Schema of the case file or of the findings",
		Long:      "schema prints the JSON Schema (draft 2020-12) of the case file or of findings.json.",
		Example:   "  cusptrace schema case > case.schema.json",
		ValidArgs: []string{"case", "findings"},
		Args:      cobra.MatchAll(cobra.ExactArgs(1), cobra.OnlyValidArgs),
		RunE: func(c *cobra.Command, args []string) error {
			b, err := casefile.Schema()
			if err != nil {
				return err
			}
			_, err = c.OutOrStdout().Write(b)
			return err
		},
	}
}
