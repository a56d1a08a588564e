package main

import (
	"fmt"
	"math"

	"flywitness/analysis"
	"flywitness/analysis/part"
	"flywitness/analysis/practice"
	"flywitness/analysis/stats"
	"flywitness/cmd/internal/cli"
	"flywitness/figure"
	"flywitness/finding"
	"flywitness/vehicle"

	"github.com/spf13/cobra"
)

func newPart() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "part",
		Short: "What is a part's inertia, on the bench, and how much torque can a clutch hold?",
		Long: `part measures parts on the bench: the inertia of a flywheel, cover or disc from its shape or, better, from swinging it
on threads; and the torque that a clutch can hold. Old and new part swung while the car is on the lift give the
best evidence there is: the change comes out as a [[part]] to paste into the job file.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newPartDisc(), newPartRings(), newPartPendulum(), newPartWeight(), newPartClutch())
	return cmd
}

// benchResult is the common part of every result with the finding of the bench beside it.
type benchResult struct {
	analysis.Result
	Part *part.Finding `json:"part"`
}

// benchFlags are the flags of every command of the bench.
type benchFlags struct {
	outputFlags
	vehicle string
	name    string
}

func (f *benchFlags) add(cmd *cobra.Command) {
	f.outputFlags.add(cmd)
	cmd.Flags().StringVar(&f.vehicle, "vehicle", "", "the vehicle file (TOML): tells what it is worth in each gear")
	cmd.Flags().StringVar(&f.name, "name", "flywheel", "name of the part in the job file")
}

// finish adds what the vehicle tells and prints the finding.
func (f *benchFlags) finish(cmd *cobra.Command, p *part.Finding, cautions ...practice.Activity) error {
	v, err := loadVehicle(f.vehicle, cmd.ErrOrStderr())
	if err != nil {
		return err
	}
	p.Name = f.name
	p.ByGear = part.EquivalentMass(v, p.Change)
	if f.json {
		return cli.WriteJSON(cmd.OutOrStdout(), benchResult{newResult("part"), p})
	}
	t := &cli.Text{}
	benchText(t, p, v, f.units)
	t.Heading("Take care:")
	for _, c := range practice.Cautions(cautions...) {
		t.Item("%s", c)
	}
	_, err = t.WriteTo(cmd.OutOrStdout())
	return err
}

// newResult is the common part of a result that no log was read for.
func newResult(command string) analysis.Result {
	return analysis.Result{Tool: analysis.Tool{Name: "flywitness analyze", Version: cli.Version}, Command: command,
		Inputs: []analysis.Input{}, Warnings: []finding.Finding{}}
}

func benchText(t *cli.Text, p *part.Finding, v *vehicle.Vehicle, u figure.Units) {
	switch {
	case p.Capacity != nil:
		clutchText(t, p, u)
		return
	case p.Range != nil:
		t.Line("Weight alone gives no inertia: it lies somewhere between %s and %s.", u.Number(p.Range[0], 0, "kg m^2"), u.Number(p.Range[1], 0, "kg m^2"))
		t.Line("Swing the part on threads (fw-analyze part pendulum) or measure its rings (fw-analyze part rings).")
		return
	case p.Change != nil:
		t.Line("%s", changeSentence(p.Change, u))
	default:
		t.Line("The inertia of the %s is %s.", cli.OneLine(p.Name), u.Estimate(p.Inertia, "kg m^2"))
	}
	var rows [][2]string
	if p.Change != nil {
		rows = append(rows, [2]string{"before", u.Estimate(p.Inertia, "kg m^2")}, [2]string{"after", u.Estimate(p.After, "kg m^2")},
			[2]string{"change", u.Estimate(p.Change, "kg m^2")})
	}
	if p.Mass != nil {
		rows = append(rows, [2]string{"mass", u.Estimate(p.Mass, "kg")})
	}
	if v != nil && v.Engine.LimitRPM > 0 {
		last := p.Inertia
		if p.After != nil {
			last = p.After
		}
		kj := part.Energy(last.Value, v.Engine.LimitRPM*math.Pi/30) / 1000
		rows = append(rows, [2]string{"stored energy", fmt.Sprintf("%s at %.0f rpm", u.Number(kj, 0, "kJ"), v.Engine.LimitRPM)})
	}
	t.Pairs(append(rows, budgetRows(p.Budget)...))
	if len(p.ByGear) > 0 {
		t.Heading("Worth as if the car were lighter by (only while accelerating):")
		for _, g := range p.ByGear {
			t.Pairs([][2]string{{fmt.Sprintf("gear %d", g.Gear), u.Estimate(g.EquivalentMass, "kg")}})
		}
	}
	if block := p.JobBlock(); block != "" {
		t.Heading("For the job file:")
		t.Verbatim(block)
	}
}

// budgetRows shows where most of the uncertainty comes from.
func budgetRows(budget []part.Share) [][2]string {
	if len(budget) == 0 {
		return nil
	}
	text := ""
	for i, s := range budget {
		if i == 3 || s.Pct < budget[0].Pct/5 {
			break
		}
		if text != "" {
			text += ", "
		}
		text += fmt.Sprintf("%s %s %%", s.Input, figure.Significant(s.Pct, 2))
	}
	return [][2]string{{"uncertain by", text}}
}

func changeSentence(change *stats.Estimate, u figure.Units) string {
	switch {
	case change.CI95[1] < 0:
		return "The new part has less inertia, by " + u.Estimate(change.Scale(-1), "kg m^2") + "."
	case change.CI95[0] > 0:
		return "The new part has more inertia, by " + u.Estimate(change, "kg m^2") + "."
	}
	return "No difference between the parts can be told: " + u.Estimate(change, "kg m^2") + "; swing each more often."
}

func clutchText(t *cli.Text, p *part.Finding, u figure.Units) {
	t.Line("With its lining bedded in the clutch holds %s.", u.Estimate(p.Capacity.Wear, "N m"))
	rows := [][2]string{{"new and flat lining", u.Estimate(p.Capacity.Pressure, "N m")},
		{"mean radius", u.Number(p.Capacity.MeanRadius*1000, 0, "mm")}}
	if p.OtherSize != nil {
		rows = append(rows, [2]string{"the other clutch", u.Estimate(p.OtherSize.Wear, "N m")},
			[2]string{"other over this", figure.Metric.Estimate(p.Ratio, "") + " times"})
	}
	if p.ClampFor != nil {
		rows = append(rows, [2]string{"clamp load needed", u.Number(*p.ClampFor, 0, "N") + " for the torque stated, without a reserve"})
	}
	t.Pairs(append(rows, budgetRows(p.Capacity.Budget)...))
	t.Line("This is what the sizes promise, not what the car shows: oil or grease on the lining, heat and wear take most of it away. Record pulls to see what it holds.")
}
