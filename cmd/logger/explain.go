package main

import (
	"fmt"
	"io"
	"text/tabwriter"

	"flywitness/capture/csvlog"
	"flywitness/capture/source"
	"flywitness/cmd/internal/cli"
)

// explainAll prints how each log would be read. A log that cannot be read as it is is an error, after what is known of it.
func explainAll(w io.Writer, names []string, opt source.Options) error {
	opt.Partial = opt.Partial || len(names) > 1 // each may hold a part of the channels
	for _, name := range names {
		if err := explainLog(w, name, opt); err != nil {
			return err
		}
	}
	return nil
}

func explainLog(w io.Writer, name string, opt source.Options) error {
	logs, err := source.Explain(name, opt)
	if err != nil {
		return err
	}
	for _, l := range logs {
		if err := describe(w, l.Name, l.How); err != nil {
			return err
		}
	}
	return nil
}

// describe prints how one log is read; u is nil for one that needs no explanation.
func describe(w io.Writer, name string, u *csvlog.Understanding) error {
	if u == nil {
		_, err := fmt.Fprintf(w, "%s: a session, whose columns have fixed names\n", name)
		return err
	}
	fmt.Fprintf(w, "%s: %s\n", name, u.Layout)
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for i, c := range u.Columns {
		as := c.As
		if as == "" {
			as = "not used"
		}
		fmt.Fprintf(table, "  %d\t%s\t%s\t%s\n", i+1, cli.OneLine(fmt.Sprintf("%.40q", c.Heading)), as, cli.OneLine(c.Why))
	}
	if err := table.Flush(); err != nil {
		return err
	}
	for _, n := range u.Notes {
		fmt.Fprintf(w, "  note: %s\n", cli.OneLine(n))
	}
	return u.Problem
}
