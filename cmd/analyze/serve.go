package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"flywitness/analysis"
	"flywitness/analysis/slip"
	"flywitness/capture/csvlog"
	"flywitness/capture/source"
	"flywitness/cmd/internal/cli"
	"flywitness/dashboards/browse"
	"flywitness/dashboards/web"
	"flywitness/drive"
	"flywitness/figure"
	"flywitness/finding"
	"flywitness/job"

	"github.com/spf13/cobra"
)

func newServe() *cobra.Command {
	var listen string
	var also []string
	var accept bool
	var units figure.Units
	var in logFlags
	cmd := &cobra.Command{
		Use:   "serve DIR",
		Short: "The cars, jobs and logs of a folder in the browser",
		Long: `serve shows the cars, jobs, reports and logs of a folder in the browser, newest first with their verdicts, until Ctrl-C.
A job can be run from the page; its report is written beside the job file, in a folder of its name and "-report". Logs that
are dropped into the page become a new job, which is run at once; at most 256 MB at a time, and only from this machine unless
--accept-files lets others do so.

It listens on this machine only, unless --listen names another address; then everyone who reaches that address
sees the folder, and a name that browsers use for it is given with --host.`,
		Example: `  $ fw-analyze serve testdata/demo --listen 127.0.0.1:8322`,
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			s, err := browse.New(cmd.Context(), args[0], analyst(units, &in), units)
			if err != nil {
				return err
			}
			defer s.Close()
			l, err := web.Listen(listen)
			if err != nil {
				return err
			}
			limits := web.Limits{}
			if accept || web.Alone(l.Addr()) {
				s.AcceptFiles()
				limits.Large = map[string]int64{browse.DropPath: browse.MostDropped}
			}
			fmt.Fprintf(cmd.OutOrStdout(), "http://%s/\n", l.Addr())
			fmt.Fprintln(cmd.ErrOrStderr(), "Ctrl-C ends it.")
			return web.Serve(cmd.Context(), l, web.Handler(s, l.Addr(), limits, also...), limits)
		},
	}
	cmd.Flags().StringVar(&listen, "listen", "127.0.0.1:8322", "`ADDRESS` and port; port 0 takes a free one")
	cmd.Flags().StringArrayVar(&also, "host", nil, "another `NAME` that browsers may call this machine by (repeats)")
	cmd.Flags().BoolVar(&accept, "accept-files", false, "take dropped files from other machines too; everyone who reaches the address can then write here")
	cmd.Flags().Var(&units, "units", "units of the pages")
	in.db.Add(cmd)
	return cmd
}

// analyst does for the pages what the commands do.
func analyst(units figure.Units, in *logFlags) browse.Analyst {
	return browse.Analyst{
		Title: func(path string) (string, error) {
			j, _, err := job.Load(path)
			if err != nil {
				return "", err
			}
			return j.Title, nil
		},
		Run: func(ctx context.Context, path, out string, inside func(string) error, progress func(string)) error {
			return serveJob(ctx, path, out, units, in, inside, progress)
		},
		Read: func(r io.Reader, name string) (*drive.Log, error) { return source.Read(r, name, csvlog.Options{}) },
		Judge: func(l *drive.Log) *analysis.Result {
			return analysis.Slip(analysis.Set{Logs: []*drive.Log{l}}, slip.Options{})
		},
		Begin: func(ctx context.Context, dir string, answers map[string]string) error {
			return beginDropped(ctx, dir, answers, units, in)
		},
		Now: time.Now,
	}
}

// beginDropped makes a job of a folder that holds the recordings of one side or both.
func beginDropped(ctx context.Context, dir string, answers map[string]string, units figure.Units, in *logFlags) error {
	f := newJobFlags{dir: dir, in: in, out: &outputFlags{units: units}, questions: jobQuestions()}
	d := newDraft(units == figure.US)
	var files []string
	for _, side := range []string{"before", "after"} {
		folder := filepath.Join(dir, side)
		found, err := os.ReadDir(folder)
		if err != nil {
			return fmt.Errorf("cannot read the recordings: %w", err)
		}
		for _, e := range found {
			files = append(files, filepath.Join(folder, e.Name()))
		}
		d.fitted = side == "after" && len(found) > 0
	}
	logs, err := in.openOnly(ctx, files, strings.NewReader(""))
	if err != nil {
		return err
	}
	d.learn(logs)
	if err := f.take(d, answers); err != nil {
		return err
	}
	d.entitle()
	_, err = f.write(ctx, d, nil, logs)
	return err
}

// serveJob runs a job for the page. Cancelling is looked at between the steps: the longest takes a fraction of a second
// for each hour of driving.
func serveJob(ctx context.Context, path, out string, units figure.Units, in *logFlags, inside func(string) error, progress func(string)) error {
	progress("Reading the job file")
	j, warnings, err := job.Load(path)
	if err != nil {
		return err
	}
	files := jobFiles(j)
	for _, f := range files {
		if source.InDatabase(f) { // not in the folder, and only there if the server was started with --influx
			continue
		}
		if err := inside(f); err != nil {
			return err
		}
	}
	progress(fmt.Sprintf("Reading %d files", len(files)))
	before, after, ladder, err := jobSets(ctx, j, in, strings.NewReader(""), io.Discard)
	if err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	progress("Judging clutch and inertia")
	r := analysis.Job(j, before, after, ladder)
	r.Tool = analysis.Tool{Name: "flywitness analyze", Version: cli.Version}
	for _, w := range warnings {
		r.Warnings = append(r.Warnings, finding.New(finding.JobFile, finding.Name("text", w)))
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	progress("Writing the report")
	return writeJob(ctx, out, r, outputFlags{units: units})
}

// jobFiles lists every file that a job names.
func jobFiles(j *job.Job) (out []string) {
	for _, v := range []string{j.Vehicle, j.VehicleAfter} {
		if v != "" {
			out = append(out, v)
		}
	}
	for _, side := range [][]job.Session{j.Before, j.After} {
		for _, s := range side {
			out = append(out, s.Files...)
		}
	}
	return out
}
