package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"time"

	"flywitness/analysis"
	"flywitness/analysis/fleet"
	"flywitness/cmd/internal/cli"
	"flywitness/cmd/internal/database"
	fleetpage "flywitness/dashboards/fleet"
	"flywitness/figure"
	"flywitness/finding"

	"flywitness/vehicle/tomlfile"

	"github.com/spf13/cobra"
)

func newFleet(now func() time.Time) *cobra.Command {
	var db database.Flags
	var out outputFlags
	var since, car string
	var dueDays float64
	cmd := &cobra.Command{
		Use:   "fleet DIR | --influx URL --bucket B",
		Short: "How all vehicles stand, and what is due",
		Long: `fleet sets the jobs of many vehicles side by side: of each the last job and its verdict, the torque that the
clutch held over its rating, how inertia and torque went over the jobs, and what is overdue or drifting. It reads
the results that "fw-analyze job --influx" wrote to a database, or every result.json below a folder, without any
server. --report FILE writes a page with a curve for each vehicle, or, with --car NAME, the history of one car: the torque
that was held, slip and inertia after each of its jobs, and what drifts.`,
		Example: `  fw-analyze fleet jobs/
  fw-analyze fleet --influx https://db.example:8086 --bucket workshop/autogen --token-file token.txt --report fleet.html`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := db.Check(); err != nil {
				return err
			}
			if db.Given() == (len(args) == 1) {
				return cli.Usagef("fleet reads a folder of results or a database: give DIR or --influx URL, one of them")
			}
			if !(dueDays > 0 && dueDays < 36500) {
				return cli.Usagef("--due-days is a number of days above 0")
			}
			from, err := day(since)
			if err != nil {
				return err
			}
			entries, err := fleetEntries(cmd.Context(), &db, args, from, cmd.ErrOrStderr())
			if err != nil {
				return err
			}
			if entries, err = onlyCar(entries, car); err != nil {
				return err
			}
			r := &analysis.Result{Tool: analysis.Tool{Name: "flywitness analyze", Version: cli.Version}, Command: "fleet",
				Inputs: []analysis.Input{}, Warnings: []finding.Finding{}}
			due := time.Duration(dueDays * 24 * float64(time.Hour))
			r.Fleet = fleet.Judge(entries, fleet.Options{Now: now().UTC(), Due: due})
			return printFleet(cmd.Context(), r, &out, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	db.Add(cmd)
	out.add(cmd)
	out.addCheck(cmd)
	out.addReport(cmd)
	cmd.Flags().StringVar(&car, "car", "", "only the vehicle of this `NAME`")
	cmd.Flags().StringVar(&since, "since", "", "leave out jobs before this day, for instance 2026-01-01")
	cmd.Flags().Float64Var(&dueDays, "due-days", fleet.Year.Hours()/24, "a vehicle is due so many days after its last job")
	return cmd
}

// onlyCar keeps the entries of one vehicle; "" keeps all.
func onlyCar(entries []fleet.Entry, car string) ([]fleet.Entry, error) {
	if car == "" {
		return entries, nil
	}
	var out []fleet.Entry
	var others []string
	for _, e := range entries {
		if e.Vehicle == car {
			out = append(out, e)
		} else {
			others = append(others, e.Vehicle)
		}
	}
	if len(out) > 0 {
		return out, nil
	}
	hint := "there is none at all"
	if near := tomlfile.Nearest(car, others); near != "" {
		hint = fmt.Sprintf("the nearest is %q", near)
	}
	return nil, &cli.InputError{Err: fmt.Errorf("no job is of a car %q", car), Hint: hint}
}

func day(text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	t, err := time.Parse("2006-01-02", text)
	if err != nil || t.Year() < 1700 || t.Year() > 2200 {
		return t, cli.Usagef("--since %q is no day; write 2026-01-01", text)
	}
	return t, nil
}

func fleetEntries(ctx context.Context, db *database.Flags, args []string, since time.Time,
	stderr io.Writer) ([]fleet.Entry, error) {
	if len(args) == 1 {
		return entriesInFolder(args[0], since, stderr)
	}
	server, err := db.Server()
	if err != nil {
		return nil, err
	}
	defer server.Close()
	entries, err := entriesInDatabase(ctx, server, since)
	if err == nil && len(entries) == 0 {
		err = fmt.Errorf("the bucket holds no finding of a job in that time: fw-analyze job --influx writes them")
	}
	return entries, err
}

// printFleet writes what was asked for, the page first.
func printFleet(ctx context.Context, r *analysis.Result, out *outputFlags, stdout, stderr io.Writer) error {
	if out.report != "" {
		var b bytes.Buffer
		if err := fleetpage.Write(&b, r, out.units, out.paperFor(out.report)); err != nil {
			return fmt.Errorf("%s: the page could not be made: %w", out.report, err)
		}
		if err := writePageOrPDF(ctx, out.report, b.Bytes()); err != nil {
			return err
		}
		fmt.Fprintf(stderr, "wrote %s\n", out.report)
	}
	var err error
	if out.json {
		err = cli.WriteJSON(stdout, r)
	} else {
		err = fleetText(stdout, r.Fleet, out.units)
	}
	if err != nil || !out.check {
		return err
	}
	return fleetStatus(r.Fleet)
}

// fleetStatus is what --check tells: a clutch that slips, else one of which it cannot be told.
func fleetStatus(f *fleet.Finding) error {
	var open error
	for _, v := range f.Vehicles {
		switch v.Last.Slip {
		case "slips":
			return cli.Found(cli.StatusSlips)
		case "inconclusive":
			open = cli.Found(cli.StatusInconclusive)
		}
	}
	return open
}

// fleetText writes the fleet for people: what needs somebody first, then every vehicle.
func fleetText(w io.Writer, f *fleet.Finding, u figure.Units) error {
	s := fleetpage.Words(f, u)
	var t cli.Text
	t.Line("%s", s.Headline)
	if len(s.Needs) > 0 {
		t.Heading("To see to:")
		for _, n := range s.Needs {
			t.Item("%s", cli.OneLine(n.Vehicle+": "+n.Text))
		}
	}
	t.Heading("All vehicles:")
	rows := make([][]string, len(s.Rows))
	for i, r := range s.Rows {
		rows[i] = []string{cli.OneLine(r.Vehicle), r.Last, r.Clutch, r.Held, r.Margin, r.Inertia}
	}
	t.Table([]string{"vehicle", "last job", "clutch", "torque held", "of rating", "inertia"}, rows)
	t.Line("")
	t.Line("%s", s.Note)
	_, err := t.WriteTo(w)
	return err
}
