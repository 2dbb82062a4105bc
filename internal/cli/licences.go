package cli

import (
	"io"

	"github.com/cusptrace/cusptrace/internal/notices"
	"github.com/spf13/cobra"
)

func newLicences() *cobra.Command {
	return &cobra.Command{
		Use:   "licences",
		Short: "Print the licences of everything that this command contains",
		Long: `licences prints, as Markdown, what this command is built from, under which licences,
and their texts.`,
		Example: "  cusptrace licences > THIRD_PARTY.md",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			_, err := io.WriteString(c.OutOrStdout(), notices.Text())
			return err
		},
	}
}
