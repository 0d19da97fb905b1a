package main

import (
	"time"

	"github.com/spf13/cobra"

	"rollonset/cmd/internal/batch"
	"rollonset/report/archive"
)

func newCollect() *cobra.Command {
	pages := string(batch.EventPages)
	cmd := &cobra.Command{
		Use:   "collect ARCHIVE",
		Short: "Join what shards of process have left: tables, night page, run record",
		Long: `collect reads the run records that process --shard has left in the archive and
writes the tables, the page of the night and one run record for all of them, as
one run over the same paths would have.

` + exitWords,
		Args: exactly(1, "one archive"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if pages != string(batch.EventPages) && pages != string(batch.AllPages) && pages != string(batch.NoPages) {
				return usagef("--pages %q: choose events, all or none", pages)
			}
			a, err := archive.Open(args[0])
			if err != nil {
				return err
			}
			unlock, err := lockArchive(args[0], batch.Shard{})
			if err != nil {
				return err
			}
			defer unlock()
			run, results, err := batch.Collect(a, batch.Pages(pages), time.Now)
			if err != nil {
				return err
			}
			if err := (account{run: run, results: results, archive: args[0], read: a.Read}).text(cmd.OutOrStdout()); err != nil {
				return err
			}
			if run.Counts.Unreadable > 0 {
				return errUnreadable
			}
			return nil
		},
	}
	cmd.Flags().StringVar(&pages, "pages", pages, "the pages that process was told to write: events, all or none")
	return cmd
}
