package main

import (
	"bytes"
	"context"
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
	"flywitness/dashboards/paper"
	"flywitness/dashboards/report"
	"flywitness/figure"

	"github.com/spf13/cobra"
)

// outputFlags are the flags of every command that prints a result.
type outputFlags struct {
	json, check  bool
	units        figure.Units
	report, plot string
	paper        paper.Size
}

func (f *outputFlags) add(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&f.json, "json", false, "print the result object alone, as JSON")
	cmd.Flags().Var(&f.units, "units", "units of the text and the page")
}

func (f *outputFlags) addPictures(cmd *cobra.Command) {
	f.addReport(cmd)
	cmd.Flags().StringVar(&f.plot, "plot", "", "also write the charts to `FILE` (.svg, .png or .pdf)")
}

// draws tells whether charts were asked for.
func (f *outputFlags) draws() bool { return f.report != "" || f.plot != "" }

// lists tells whether what was read is listed: each log with its checksum and its channels. The text says nothing of them.
func (f *outputFlags) lists() bool { return f.json || f.report != "" }

// addReport adds the flag of a page; what cannot be written is told before the work is done.
func (f *outputFlags) addReport(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.report, "report", "", "also write the result as one page to `FILE` (.html, or .pdf through a browser)")
	f.addPaper(cmd)
	cmd.PreRunE = func(*cobra.Command, []string) error { return f.checkReport() }
}

func (f *outputFlags) addPaper(cmd *cobra.Command) {
	cmd.Flags().Var(&f.paper, "paper", "paper that a page is printed on (a PDF in metric units: a4, in us units: letter)")
}

func (f *outputFlags) checkReport() error {
	switch ext := strings.ToLower(filepath.Ext(f.report)); {
	case f.report == "" || ext == ".html" || ext == ".htm":
		return nil
	case ext == ".pdf":
		return canPrint()
	default:
		return cli.Usagef("--report %s: end the file name in .html, or in .pdf to have it printed by a browser", f.report)
	}
}

// canPrint refuses where no browser is there to print with.
func canPrint() error {
	if _, err := paper.Find(); err != nil {
		return &cli.InputError{Err: err}
	}
	return nil
}

func (f *outputFlags) addCheck(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&f.check, "check", false, "exit with 3 when the clutch slips, with 4 when the data cannot tell")
}

// print writes what was asked for, the files first: a text that names a file is only printed when the file is there.
func (f *outputFlags) print(ctx context.Context, r *analysis.Result, stdout, stderr io.Writer) error {
	r.Tool = analysis.Tool{Name: "flywitness analyze", Version: cli.Version}
	if err := f.writePictures(ctx, r, stderr); err != nil {
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

func (f *outputFlags) writePictures(ctx context.Context, r *analysis.Result, stderr io.Writer) error {
	if f.report != "" {
		if err := f.writePage(ctx, f.report, r); err != nil {
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

// writePage writes a result as a page, or printed where the name ends in .pdf.
func (f *outputFlags) writePage(ctx context.Context, path string, r *analysis.Result) error {
	var b bytes.Buffer
	if err := report.Write(&b, r, report.Options{Units: f.units, Paper: f.paperFor(path), Still: isPDF(path)}); err != nil {
		return fmt.Errorf("%s: the page could not be made: %w", path, err)
	}
	return writePageOrPDF(ctx, path, b.Bytes())
}

func isPDF(path string) bool { return strings.EqualFold(filepath.Ext(path), ".pdf") }

// paperFor is the paper of a page: the one that was asked for; of a PDF else what lies in the printer of those who use the
// units; of a page the printer decides.
func (f *outputFlags) paperFor(path string) paper.Size {
	switch {
	case f.paper != "" || !isPDF(path):
		return f.paper
	case f.units == figure.US:
		return paper.Letter
	}
	return paper.A4
}

// writePageOrPDF writes a page as it is, or printed where the name ends in .pdf.
func writePageOrPDF(ctx context.Context, path string, page []byte) error {
	if !isPDF(path) {
		return writeFile(path, page)
	}
	done := cli.Working(ctx, func() string { return "printing " + path })
	defer done()
	pdf, err := paper.Print(ctx, page)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	return writeFile(path, pdf)
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
