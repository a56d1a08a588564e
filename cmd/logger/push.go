package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"flywitness/capture/clock"
	"flywitness/capture/influx"
	"flywitness/cmd/internal/cli"
	"flywitness/cmd/internal/database"
	"flywitness/cmd/internal/logfiles"

	"github.com/spf13/cobra"
)

func newPush() *cobra.Command {
	var db database.Flags
	var as string
	var again, asJSON bool
	cmd := &cobra.Command{
		Use:   "push SESSION... --influx URL --bucket B",
		Short: "Session files into an InfluxDB",
		Long: `push sends session files to an InfluxDB, from where an earlier attempt stopped: a file NAME.sent beside each
keeps how far it is. Sending twice changes nothing. While the database cannot be reached it tries again until
Ctrl-C. Rows that the database refuses for good are written to NAME.rejected with its reason, and the exit
status is then 1.

The token is read from --token-file or the environment variable ` + database.TokenVariable + `, never from the command line.
The drive stands in the database under the vehicle's name; analyze reads it as influx:vehicle=NAME,drive=TIME.`,
		Example: `  $ fw-logger push thursday.csv --influx https://db.example:8086 --bucket workshop/autogen --token-file token.txt`,
		Args:    cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if !db.Given() {
				return cli.Usagef("push needs --influx URL, the address of the database")
			}
			names, err := logfiles.Expand(args)
			if err != nil {
				return err
			}
			server, err := db.Server()
			if err != nil {
				return err
			}
			defer server.Close()
			line := newStatusLine(cmd.ErrOrStderr())
			defer line.End()
			var reports []influx.Report
			for _, path := range names {
				s := influx.Sender{Server: server, Clock: clock.System{}, As: as, Afresh: again, Tell: pushStatus(line, path)}
				r, err := s.Send(cmd.Context(), path)
				if err != nil {
					return pushProblem(path, err)
				}
				reports = append(reports, r)
			}
			line.End()
			return pushed(cmd.OutOrStdout(), reports, asJSON)
		},
	}
	db.Add(cmd)
	cmd.Flags().StringVar(&as, "as", "", "the vehicle's name in the database, where the file names none or another is wanted")
	cmd.Flags().BoolVar(&again, "again", false, "send everything again, also what was refused")
	cmd.Flags().BoolVar(&asJSON, "json", false, "print what was sent as JSON")
	return cmd
}

// pushStatus shows how the sending of a file stands: what is in the way each time it changes.
func pushStatus(line *statusLine, path string) func(influx.State) {
	waiting := ""
	return func(s influx.State) {
		if s.Waiting != waiting && s.Waiting != "" {
			line.Say(cli.OneLine(fmt.Sprintf("%s: %d rows sent; %s; trying again, Ctrl-C ends it and loses nothing",
				path, s.Rows, s.Waiting)))
		}
		if waiting != "" && s.Waiting == "" {
			line.Say(cli.OneLine(path + ": it goes on"))
		}
		waiting = s.Waiting
		line.Show(cli.OneLine(fmt.Sprintf("%s: %d rows sent", path, s.Rows)))
	}
}

func pushProblem(path string, err error) error {
	if errors.Is(err, context.Canceled) {
		return &cli.InputError{Err: fmt.Errorf("stopped; %s is not sent to its end", path),
			Hint: "the same command goes on from there"}
	}
	return err
}

// pushed tells what was sent; refused rows are an error.
func pushed(w io.Writer, reports []influx.Report, asJSON bool) error {
	type one struct {
		Path         string `json:"path"`
		Name         string `json:"name"`
		Rows         int    `json:"rows"`
		Refused      int    `json:"refused_rows"`
		RejectedFile string `json:"rejected_file,omitempty"`
	}
	var refused error
	list := []one{}
	for _, r := range reports {
		list = append(list, one(r))
		if r.Refused > 0 {
			refused = errors.Join(refused, fmt.Errorf("%d rows of %s were refused", r.Refused, r.Path))
		}
	}
	if asJSON {
		if err := cli.WriteJSON(w, map[string]any{"tool": tool(), "command": "push", "push": list}); err != nil {
			return err
		}
	} else {
		for _, r := range list {
			what := fmt.Sprintf("%d rows sent", r.Rows)
			if r.Rows == 0 {
				what = "nothing left to send"
			}
			if r.Refused > 0 {
				what += fmt.Sprintf(", %d refused: see %s", r.Refused, r.RejectedFile)
			}
			if _, err := fmt.Fprintf(w, "%s: %s\n  %s\n", r.Path, what, r.Name); err != nil {
				return err
			}
		}
	}
	if refused != nil {
		return &cli.InputError{Err: refused, Hint: "the reason stands in the file beside it; put it right and use --again"}
	}
	return nil
}
