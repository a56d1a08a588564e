package main

import (
	"bytes"
	"context"
	"fmt"
	"strings"

	"flywitness/analysis"
	"flywitness/analysis/compare"
	"flywitness/analysis/inertia"
	"flywitness/analysis/plan"
	"flywitness/analysis/practice"
	"flywitness/cmd/internal/cli"
	"flywitness/dashboards/drivesheet"
	"flywitness/drive"
	"flywitness/figure"
	"flywitness/finding"
	"flywitness/job"
	"flywitness/vehicle"

	"github.com/spf13/cobra"
)

// planResult is the common part of every result with the plan beside it.
type planResult struct {
	analysis.Result
	Plan *plan.Finding `json:"plan"`
}

func newPlan() *cobra.Command {
	var in logFlags
	var out outputFlags
	var logs []string
	var change, peak, margin float64
	var checklist bool
	cmd := &cobra.Command{
		Use:   "plan",
		Short: "What has to be driven to see a change of a given size?",
		Long: `plan tells before the drive how many free revs and how many sessions show a change of inertia, in which gear and over
which speeds a full-load pull can be driven within the speed limit, and in which order to drive it all. With --log it
takes sampling, time stamps and scatter from the free revs of a log of this car. --report writes a drive sheet to be
printed: what to drive, with boxes to tick and a place for the hash of each recording.`,
		Example: `  $ fw-analyze plan --vehicle testdata/demo/mule.toml --speed-limit-kmh 100 --change-pct 10
  $ fw-analyze plan --vehicle testdata/demo/mule.toml --log testdata/demo/before/monday.csv --checklist
  $ fw-analyze plan --vehicle testdata/demo/mule.toml --speed-limit-kmh 100 --report drive-sheet.html`,
		Args: cobra.NoArgs,
	}
	in.add(cmd)
	out.add(cmd)
	out.addReport(cmd)
	cmd.Flags().Lookup("report").Usage = "also write the drive sheet to `FILE` (.html, or .pdf through a browser)"
	limit := addQuantity(cmd, "speed-limit", "speed", "the speed that may be driven")
	torque := addQuantity(cmd, "torque", "torque", "the engine's torque, for time and road of a pull")
	cmd.Flags().StringArrayVar(&logs, "log", nil, "a `LOG` of this car with free revs (repeats)")
	cmd.Flags().Float64Var(&change, "change-pct", 10, "the change of inertia to show, per cent")
	cmd.Flags().Float64Var(&margin, "margin-pct", job.DefaultMarginPct, "the margin within which no change is to be shown, as in the job file")
	cmd.Flags().Float64Var(&peak, "torque-peak-rpm", 0, "engine speed of the torque peak (default 0.6 of the limit, diesel 0.45)")
	cmd.Flags().BoolVar(&checklist, "checklist", false, "the checklist will be kept: the spread between sessions is then 2 % and not 4 % (a diesel 2.8 and 5.3 %)")
	cmd.RunE = func(cmd *cobra.Command, _ []string) error {
		var r reader
		q := plan.Question{Change: change / 100, Checklist: checklist, Margin: margin / 100,
			Road: plan.Road{SpeedLimit: r.or(limit, 0), Torque: r.or(torque, 0), TorquePeak: peak}}
		if r.err != nil {
			return r.err
		}
		if err := checkQuestion(cmd, q); err != nil {
			return err
		}
		v, err := loadVehicle(in.vehicle, cmd.ErrOrStderr())
		if err != nil {
			return err
		}
		result := planResult{Result: newResult("plan")}
		if len(logs) > 0 {
			read, err := in.openOnly(cmd.Context(), logs, cmd.InOrStdin())
			if err != nil {
				return err
			}
			q.Log = fromLogs(&result, read, v)
			q.Road.Holds, _ = plan.HoldsOf(read, v)
		}
		result.Plan = plan.Make(v, q)
		if out.report != "" {
			sheet := drivesheet.Sheet{Plan: result.Plan, Units: out.units, Paper: out.paperFor(out.report)}
			if v != nil {
				sheet.Car = v.Name
			}
			if err := writeSheet(cmd.Context(), out.report, sheet); err != nil {
				return err
			}
			fmt.Fprintf(cmd.ErrOrStderr(), "wrote %s\n", out.report)
		}
		if out.json {
			return cli.WriteJSON(cmd.OutOrStdout(), result)
		}
		var t cli.Text
		planText(&t, &result, out.units, checklist)
		_, err = t.WriteTo(cmd.OutOrStdout())
		return err
	}
	return cmd
}

func checkQuestion(cmd *cobra.Command, q plan.Question) error {
	flags := cmd.Flags()
	switch {
	case !(q.Change >= 0.001 && q.Change <= 1):
		return cli.Usagef("--change-pct must lie between 0.1 and 100")
	case !(q.Margin >= 0.001 && q.Margin < 0.5):
		return cli.Usagef("--margin-pct must lie between 0.1 and 50")
	case (flags.Changed("speed-limit-kmh") || flags.Changed("speed-limit-mph")) && !(q.Road.SpeedLimit > 1 && q.Road.SpeedLimit < 150):
		return cli.Usagef("--speed-limit-kmh must lie between 4 and 540")
	case (flags.Changed("torque-nm") || flags.Changed("torque-lbft")) && !(q.Road.Torque > 0 && q.Road.Torque < 1e4):
		return cli.Usagef("--torque-nm must lie between 0 and 10000")
	case flags.Changed("torque-peak-rpm") && !(q.Road.TorquePeak >= 500 && q.Road.TorquePeak <= 20000):
		return cli.Usagef("--torque-peak-rpm must lie between 500 and 20000")
	}
	return nil
}

// fromLogs learns from the free revs of the logs and notes the logs in the result; nil, with a warning, when there are none.
func fromLogs(result *planResult, logs []*drive.Log, v *vehicle.Vehicle) *plan.Measured {
	r := analysis.Inertia(analysis.Set{Logs: logs, Vehicle: v}, inertia.Options{})
	result.Inputs, result.Vehicle, result.Calibration = r.Inputs, r.Vehicle, r.Calibration
	result.Warnings = append(result.Warnings, r.Warnings...)
	m, ok := plan.FromLog(r.Inertia)
	if !ok {
		result.Warnings = append(result.Warnings, finding.New(finding.NoFreeRevs))
		return nil
	}
	if !m.Own {
		result.Warnings = append(result.Warnings, finding.New(finding.FewFreeRevs, finding.Count("runs", m.Runs)))
	}
	return &m
}

func planText(t *cli.Text, r *planResult, u figure.Units, checklist bool) {
	f := r.Plan
	t.Line("%s", planAnswer(f))
	t.Heading(fmt.Sprintf("Smallest change that is shown (%.0f %% of the time), %d free revs a session:", 100*f.Power, f.RunsPerSession))
	rows := [][]string{}
	for _, l := range f.Links {
		row := []string{l.Name}
		for _, d := range l.BySessions {
			row = append(row, figure.Significant(d.ChangePct, 2)+" %")
		}
		rows = append(rows, row)
	}
	t.Table([]string{"sessions a side", "1", "2", "3", "5"}, rows)
	t.Line("Sessions differ by %.0f %%%s. One session takes that as told; several measure it beside that.", f.SessionSDPct,
		map[bool]string{true: " when the checklist is kept", false: "; the checklist makes it 2 %"}[checklist])
	t.Heading("What earns \"did not change\":")
	t.Line("%s", samenessLine(f))
	t.Heading(fmt.Sprintf("Ways to drive it, a side (%s):", f.WaysLink))
	waysRows(t, f)
	t.Heading("Free revs a side, if both sides could be driven in one sitting:")
	needRows(t, f)
	t.Heading("Drive, in this order:")
	for i, step := range steps(f, u) {
		t.Numbered(i+1, "%s", step)
	}
	if f.Pull != nil && f.Pull.Assumed {
		t.Line("Time and road of the pulls are those of a weak engine; --torque-nm gives them for this one.")
	}
	if len(r.Warnings) > 0 {
		t.Heading("Worth knowing:")
		for _, w := range r.Warnings {
			t.Item("%s", cli.OneLine(w.In(u)))
		}
	}
	t.Heading("Take care:")
	for _, c := range practice.Cautions(practice.Driving, practice.FreeRevs, practice.Coasting, practice.Pulling) {
		t.Item("%s", c)
	}
}

// samenessLine says how many sittings show that nothing changed within the margin, and which margin fewer of them can have.
func samenessLine(f *plan.Finding) string {
	text := fmt.Sprintf("Within the margin of %s %%: ", figure.Significant(f.MarginPct, 2))
	if f.ForNoChange == nil {
		text += fmt.Sprintf("more than %d sessions a side of %d free revs, which nobody drives.", compare.MostSessions, f.RunsPerSession)
	} else {
		text += fmt.Sprintf("%d sessions a side of %d free revs.", *f.ForNoChange, f.RunsPerSession)
	}
	var parts []string
	for _, s := range f.SameWithin {
		parts = append(parts, fmt.Sprintf("%d a side within %s %%", s.Sessions, figure.Significant(s.MarginPct, 2)))
	}
	return text + " With a wider margin, set before the drive (margin_pct in the job file): " + strings.Join(parts, ", ") + "."
}

// wayNames are the ways as people speak of them.
var wayNames = map[string]string{"free_revs": "free revs alone", "holds": "with holds", "holds_same_day": "with holds, both sides in one day",
	"in_gear": "with runs in gear", "holds_and_in_gear": "with holds and runs in gear"}

// waysRows lists the ways with what each can show, and the choice.
func waysRows(t *cli.Text, f *plan.Finding) {
	part := func(p float64) string { return fmt.Sprintf("%.0f %%", 100*p) }
	var rows [][]string
	for _, w := range f.Ways {
		rows = append(rows, []string{sittings(w.Sittings) + " " + wayNames[w.Name], fmt.Sprintf("%.0f min", w.Minutes), figure.Significant(w.HalfWidth, 2) + " %",
			part(w.Power), part(w.Same), part(w.Same5)})
	}
	t.Table([]string{"way", "takes", "known to", "shows " + figure.Significant(f.ChangePct, 2) + " %", "same within " + figure.Significant(f.MarginPct, 2) + " %",
		"same within 5 %"}, rows)
	name := func(i *int, what string) string {
		if i == nil {
			return what + ": none of them"
		}
		return what + ": " + sittings(f.Ways[*i].Sittings) + " " + wayNames[f.Ways[*i].Name]
	}
	t.Line("Least effort: %s; %s; %s, if that margin is set before the drive (margin_pct = 5).", name(f.ForChange, "to show the change"),
		name(f.ForSame, "to show that nothing changed"), name(f.ForSame5, "the same within 5 %"))
	t.Line("A hold is 15 s in neutral at a steady engine speed, at two speeds, before the free revs and after them. It counts fully once this car has shown that its air and fuel " +
		"tell its drag: by free revs between holds while it warms up, or by sittings that agree better for it.")
}

func sittings(n int) string {
	if n == 1 {
		return "one sitting"
	}
	return fmt.Sprintf("%d sittings", n)
}

func planAnswer(f *plan.Finding) string {
	change := figure.Significant(f.ChangePct, 2) + " %"
	switch {
	case f.Sessions == nil:
		return fmt.Sprintf("Free revs cannot show a change of %s: sessions differ by too much. Swing the old and the new part on a pendulum (fw-analyze part pendulum).", change)
	case *f.Sessions == 1:
		return fmt.Sprintf("One session a side of %d free revs shows a change of %s, if sessions differ by no more than %.0f %%; three a side, each from its own start, measure that themselves.", f.RunsPerSession, change, f.SessionSDPct)
	case *f.Sessions > 5:
		return fmt.Sprintf("A change of %s takes %d sessions a side of %d free revs each. The pendulum (fw-analyze part pendulum) gets there in an hour.", change, *f.Sessions, f.RunsPerSession)
	}
	return fmt.Sprintf("A change of %s takes %d sessions a side, each from its own start, of %d free revs each.", change, *f.Sessions, f.RunsPerSession)
}

func needRows(t *cli.Text, f *plan.Finding) {
	head := []string{"change"}
	var rows [][]string
	for _, n := range f.Links[0].Needs {
		head = append(head, figure.Significant(n.ChangePct, 2)+" %")
	}
	for _, l := range f.Links {
		row := []string{l.Name}
		for _, n := range l.Needs {
			if n.Runs == nil {
				row = append(row, "never")
			} else {
				row = append(row, fmt.Sprint(*n.Runs))
			}
		}
		rows = append(rows, row)
	}
	t.Table(head, rows)
	for _, l := range f.Links {
		if l.Samples < plan.FewestSamples {
			t.Line("%s: about %.1f samples a free rev, and %d are needed. Record engine speed alone, and rev higher where the car lets you.", l.Name, l.Samples, plan.FewestSamples)
		}
		if l.Runs > 0 {
			t.Line("From %d free revs of the log: %.1f samples a second, time stamps good to %.0f ms, runs scatter by %s %%.", l.Runs, l.RateHz, 1000*l.TimingSD,
				figure.Significant(l.RunToRunPct, 2))
		}
	}
}

// steps is what to do, in order.
func steps(f *plan.Finding, u figure.Units) []string {
	out := []string{"Before each session: " + strings.Join(practice.Checklist(), "; ") + "."}
	for _, s := range drivesheet.Steps(f, u) {
		out = append(out, s.Text)
	}
	return append(out, "While the car is on the lift: swing the old and the new part on a pendulum (fw-analyze part pendulum). It is the best evidence of all.",
		"The same drive after the work; nothing about tyres, load and fuel changed.")
}

// writeSheet writes the drive sheet, printed where the name ends in .pdf.
func writeSheet(ctx context.Context, path string, s drivesheet.Sheet) error {
	var b bytes.Buffer
	if err := drivesheet.Write(&b, s); err != nil {
		return fmt.Errorf("%s: the sheet could not be made: %w", path, err)
	}
	return writePageOrPDF(ctx, path, b.Bytes())
}
