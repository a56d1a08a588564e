package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"flywitness/analysis"
	"flywitness/analysis/compare"
	"flywitness/analysis/slip"
	"flywitness/cmd/internal/cli"
	"flywitness/dashboards/chart"
	"flywitness/dashboards/report"
	"flywitness/figure"

	"github.com/spf13/cobra"
)

// outputFlags are the flags of every command that prints a result.
type outputFlags struct {
	json, check  bool
	units        figure.Units
	report, plot string
}

func (f *outputFlags) add(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&f.json, "json", false, "print the result object alone, as JSON")
	cmd.Flags().Var(&f.units, "units", "units of the text and the page")
}

func (f *outputFlags) addPictures(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.report, "report", "", "also write the result as one page to this file (.html)")
	cmd.Flags().StringVar(&f.plot, "plot", "", "also write the charts to this file (.svg, .png or .pdf)")
}

func (f *outputFlags) addCheck(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&f.check, "check", false, "exit with 3 when the clutch slips, with 4 when the data cannot tell")
}

// print writes what was asked for, the files first: a text that names a file is only printed when the file is there.
func (f *outputFlags) print(r *analysis.Result, stdout, stderr io.Writer) error {
	r.Tool = analysis.Tool{Name: "flywitness analyze", Version: cli.Version}
	if err := f.writePictures(r, stderr); err != nil {
		return err
	}
	if f.json {
		if err := cli.WriteJSON(stdout, r); err != nil {
			return err
		}
	} else if err := printText(stdout, r, f.units); err != nil {
		return err
	}
	if f.check {
		return verdictStatus(r)
	}
	return nil
}

func (f *outputFlags) writePictures(r *analysis.Result, stderr io.Writer) error {
	if f.report != "" {
		if err := writePage(f.report, r, f.units); err != nil {
			return err
		}
		fmt.Fprintf(stderr, "wrote %s\n", f.report)
	}
	if f.plot != "" {
		if err := writeCharts(f.plot, r, f.units); err != nil {
			return err
		}
		fmt.Fprintf(stderr, "wrote %s\n", f.plot)
	}
	return nil
}

func writePage(path string, r *analysis.Result, u figure.Units) error {
	var b bytes.Buffer
	if err := report.Write(&b, r, report.Options{Units: u}); err != nil {
		return fmt.Errorf("%s: the page could not be made: %w", path, err)
	}
	return writeFile(path, b.Bytes())
}

func writeCharts(path string, r *analysis.Result, u figure.Units) error {
	format := strings.TrimPrefix(strings.ToLower(filepath.Ext(path)), ".")
	if !slices.Contains(chart.Formats, format) {
		return cli.Usagef("--plot %s: end the file name in .svg, .png or .pdf", path)
	}
	charts := report.Charts(r, u)
	if len(charts) == 0 {
		return fmt.Errorf("--plot %s: this result has nothing to draw", path)
	}
	var b bytes.Buffer
	if err := chart.Write(&b, format, charts...); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	return writeFile(path, b.Bytes())
}

// writeFile replaces a file of our own making in one step, so that a failed run leaves no half page behind.
func writeFile(path string, data []byte) error {
	dir := filepath.Dir(path)
	tmp, err := os.CreateTemp(dir, ".flywitness-*")
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("cannot write %s: there is no folder %s; make it first", path, dir)
		}
		return fmt.Errorf("cannot write %s: %w", path, err)
	}
	defer os.Remove(tmp.Name())
	_, err = tmp.Write(data)
	if err == nil {
		err = tmp.Chmod(0o644)
	}
	if closed := tmp.Close(); err == nil {
		err = closed
	}
	if err == nil {
		err = os.Rename(tmp.Name(), path)
	}
	if err != nil {
		return fmt.Errorf("cannot write %s: %w", path, err)
	}
	return nil
}

// verdictStatus is the finding that --check tells by the exit status. Of two sides the one after the work counts.
func verdictStatus(r *analysis.Result) error {
	s := r.Slip
	if c := r.Compare; c != nil {
		s = c.SlipAfter
		if s == nil {
			s = c.SlipBefore
		}
	}
	switch {
	case s != nil && s.Verdict == slip.Slips:
		return cli.Found(cli.StatusSlips)
	case r.Command == "slip" && s.Verdict == slip.Inconclusive,
		r.Command == "job" && s != nil && s.Verdict == slip.Inconclusive,
		r.Compare != nil && r.Compare.Verdict == compare.Inconclusive && len(sidesOf(r)) == 2,
		r.Command == "inertia" && r.Inertia.Inertia == nil:
		return cli.Found(cli.StatusInconclusive)
	}
	return nil
}

// sidesOf lists the sides that a result has logs of.
func sidesOf(r *analysis.Result) []string {
	var out []string
	for _, in := range r.Inputs {
		if !slices.Contains(out, in.Side) {
			out = append(out, in.Side)
		}
	}
	return out
}
