package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"flywitness/analysis"
	"flywitness/capture/influx"
	"flywitness/cmd/internal/cli"
	"flywitness/cmd/internal/database"
	"flywitness/job"
	"flywitness/vehicle"

	"github.com/spf13/cobra"
)

func newJob() *cobra.Command {
	var in logFlags
	var out outputFlags
	var dir, as string
	var pdf bool
	var fresh newJobFlags
	cmd := &cobra.Command{
		Use:   "job JOB.toml --out DIR | job --new DIR",
		Short: "The whole job: result.json and a report to hand over",
		Long: `job runs everything that a job file asks for: slip on each side, inertia, the comparison, the claim. It writes
result.json and report.html into DIR. A job may have a before side only (diagnosis) or an after side only (does it hold). With --influx the findings also go to a database, for fw-analyze fleet.

--new DIR begins a job: a vehicle file, a job file, folders before and after, and a drive sheet to print. On a terminal it
asks what it needs to know; flags answer beforehand. What a log teaches (gearing, idle) is not asked. Nothing is overwritten.
job DIR then runs it, into DIR/job-report unless --out says otherwise.`,
		Example: `  $ fw-analyze job --new mule --log testdata/demo/before/monday.csv --mass 1310 --gearbox manual --fuel petrol
  $ fw-analyze job testdata/demo/job.toml --out demo-out`,
		Args: func(cmd *cobra.Command, args []string) error {
			if fresh.dir != "" {
				return nil
			}
			return cobra.ExactArgs(1)(cmd, args)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := fresh.check(cmd, args); err != nil {
				return err
			}
			if fresh.dir != "" {
				return fresh.run(cmd)
			}
			if dir == "" && exists(filepath.Join(args[0], jobFile)) { // the folder that --new made
				dir = filepath.Join(args[0], reportFolder)
			}
			if dir == "" {
				return cli.Usagef("job needs --out DIR, the folder for result.json and report.html")
			}
			r, err := runJob(cmd.Context(), args[0], &in, cmd.InOrStdin(), cmd.ErrOrStderr())
			if err != nil {
				return err
			}
			r.Tool = analysis.Tool{Name: "flywitness analyze", Version: cli.Version}
			if err := writeJob(cmd.Context(), dir, r, out); err != nil {
				return err
			}
			if pdf {
				if err := out.writePage(cmd.Context(), filepath.Join(dir, "report.pdf"), r); err != nil {
					return err
				}
			}
			if err := sendFindings(cmd.Context(), &in.db, r, as, cmd.ErrOrStderr()); err != nil {
				return err
			}
			files := filepath.Join(dir, "report.html")
			if pdf {
				files += " and, printed, " + filepath.Join(dir, "report.pdf")
			}
			defer fmt.Fprintf(cmd.ErrOrStderr(), "The report is %s\n", files)
			return out.print(cmd.Context(), r, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	in.addSource(cmd)
	cmd.Flags().StringVar(&as, "as", "", "with --influx: the vehicle's name in the database, where the vehicle file names none")
	cmd.Flags().StringVar(&dir, "out", "", "the `FOLDER` to write into; made when it is not there")
	out.add(cmd)
	out.addPaper(cmd)
	cmd.Flags().BoolVar(&pdf, "pdf", false, "also print the report (with --new: the drive sheet) to a PDF, through a browser that is installed")
	cmd.PreRunE = func(*cobra.Command, []string) error {
		if pdf {
			return canPrint()
		}
		return nil
	}
	out.addCheck(cmd)
	fresh.add(cmd, &in, &out, &pdf)
	return cmd
}

// runJob reads a job file and everything that it names, and analyses it.
func runJob(ctx context.Context, path string, in *logFlags, stdin io.Reader, stderr io.Writer) (*analysis.Result, error) {
	if err := noLog(path, "a job file (.toml); fw-analyze job --new FOLDER writes one"); err != nil {
		return nil, err
	}
	if inside := filepath.Join(path, jobFile); exists(inside) {
		path = inside
	}
	j, warnings, err := job.Load(path)
	if err != nil {
		return nil, err
	}
	for _, w := range warnings {
		fmt.Fprintln(stderr, cli.OneLine(w))
	}
	before, after, ladder, err := jobSets(ctx, j, in, stdin, stderr)
	if err != nil {
		return nil, err
	}
	defer cli.Working(ctx, func() string { return "judging clutch and inertia" })()
	return analysis.Job(j, before, after, ladder), nil
}

// jobSets reads the vehicles and the recordings of a job.
func jobSets(ctx context.Context, j *job.Job, in *logFlags, stdin io.Reader, stderr io.Writer) (before, after, ladder analysis.Set, err error) {
	veh, err := loadVehicle(j.Vehicle, stderr)
	if err != nil {
		return before, after, ladder, err
	}
	vehAfter := veh
	if j.VehicleAfter != "" {
		if vehAfter, err = loadVehicle(j.VehicleAfter, stderr); err != nil {
			return before, after, ladder, err
		}
	}
	if before, err = jobSet(ctx, "before", j.Before, veh, in, stdin); err != nil {
		return before, after, ladder, err
	}
	if after, err = jobSet(ctx, "after", j.After, vehAfter, in, stdin); err != nil {
		return before, after, ladder, err
	}
	ladder = analysis.Set{Vehicle: veh}
	if len(j.Held.Ladder) > 0 {
		if ladder.Logs, err = in.open(ctx, j.Held.Ladder, stdin); err != nil {
			return before, after, ladder, err
		}
	}
	if err := in.idle(before.Logs, after.Logs, ladder.Logs); err != nil {
		return before, after, ladder, err
	}
	return before, after, ladder, apart(before, after)
}

// jobSet reads the recordings of one side, session by session. Drives of a database that one name means are sessions of their own unless the job
// file groups them.
func jobSet(ctx context.Context, side string, sessions []job.Session, veh *vehicle.Vehicle, in *logFlags, stdin io.Reader) (analysis.Set, error) {
	s := analysis.Set{Side: side, Vehicle: veh, Sessions: []int{}}
	var files []string
	for _, one := range sessions {
		files = append(files, one.Files...)
	}
	sets, err := in.openEach(ctx, files, stdin)
	if err != nil {
		return s, err
	}
	session, set := 0, 0
	for _, one := range sessions {
		for range one.Files {
			for k, l := range sets[set] {
				if k > 0 && !one.Grouped {
					session++
				}
				s.Logs, s.Sessions = append(s.Logs, l), append(s.Sessions, session)
			}
			set++
		}
		session++
	}
	return s, nil
}

// sendFindings writes what the job found to the database, where one is named. The files are written already: a database that fails loses nothing.
func sendFindings(ctx context.Context, db *database.Flags, r *analysis.Result, as string, stderr io.Writer) error {
	if !db.Given() {
		return nil
	}
	entries, err := analysis.FleetEntries(r, as)
	if err != nil {
		return fmt.Errorf("the findings cannot be sent: %w", err)
	}
	var findings []influx.Finding
	for _, e := range entries {
		findings = append(findings, toDatabase(e))
	}
	server, err := db.Server()
	if err != nil {
		return err
	}
	if err := server.WriteFindings(ctx, findings); err != nil {
		return &cli.InputError{Err: fmt.Errorf("the findings were not sent: %w", err), Hint: "the report is written; run the job again when the database answers"}
	}
	fmt.Fprintf(stderr, "The findings of %s are in the database\n", cli.OneLine(entries[0].Vehicle))
	return nil
}

// writeJob writes result.json and report.html.
func writeJob(ctx context.Context, dir string, r *analysis.Result, out outputFlags) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("cannot make the folder for the report: %w", err)
	}
	var data bytes.Buffer
	if err := cli.WriteJSON(&data, r); err != nil {
		return err
	}
	if err := writeFile(filepath.Join(dir, "result.json"), data.Bytes()); err != nil {
		return err
	}
	return out.writePage(ctx, filepath.Join(dir, "report.html"), r)
}
