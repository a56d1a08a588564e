package main

import (
	"fmt"
	"slices"
	"strings"

	"flywitness/analysis"
	"flywitness/analysis/air"
	"flywitness/analysis/compare"
	"flywitness/analysis/inertia"
	"flywitness/analysis/slip"
	"flywitness/cmd/internal/cli"
	"flywitness/drive"
	"flywitness/job"

	"github.com/spf13/cobra"
)

func newCompare() *cobra.Command {
	var in logFlags
	var out outputFlags
	var foot footFlag
	var before, after []string
	var vehicleAfter string
	var checklist, sameDay, idleFlow, dry bool
	var ladder []string
	var margin float64
	var box gearboxFlag
	var standard string
	cmd := &cobra.Command{
		Use:   "compare --before LOG --after LOG",
		Short: "What did the part swap change?",
		Long: `compare sets the logs from before a part swap against those from after it: the ratio of the rotating inertia, what it
is worth in each gear, slip on either side. Both flags repeat and take globs; each log is a session of its own (a
job file groups them). Without a vehicle file the ratio is given, and what needs mass and gearing stays unknown.`,
		Example: `  $ fw-analyze compare --before 'testdata/demo/before/*.csv' --after 'testdata/demo/after/*.csv' --vehicle testdata/demo/mule.toml`,
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if len(before) == 0 || len(after) == 0 {
				return cli.Usagef("compare needs --before and --after; for one side alone use slip, inertia or job")
			}
			if standard != "" && !slices.Contains(air.Methods, air.Method(standard)) {
				return cli.Usagef("--standard-air is j1349 or iso1585, not %q", standard)
			}
			if margin <= 0 || margin >= 50 {
				return cli.Usagef("--margin-pct must lie between 0 and 50")
			}
			sets := [2]analysis.Set{{Side: "before"}, {Side: "after"}}
			vehicles := [2]string{in.vehicle, vehicleAfter}
			if vehicleAfter == "" {
				vehicles[1] = in.vehicle
			}
			for i, names := range [][]string{before, after} {
				var err error
				if sets[i].Logs, err = in.open(cmd.Context(), names, cmd.InOrStdin()); err != nil {
					return err
				}
				if i == 1 && vehicleAfter == "" {
					sets[1].Vehicle = sets[0].Vehicle
				} else if sets[i].Vehicle, err = loadVehicle(vehicles[i], cmd.ErrOrStderr()); err != nil {
					return err
				}
			}
			if err := apart(sets[0], sets[1]); err != nil {
				return err
			}
			climbed := analysis.Set{Vehicle: sets[0].Vehicle}
			if len(ladder) > 0 {
				var err error
				if climbed.Logs, err = in.open(cmd.Context(), ladder, cmd.InOrStdin()); err != nil {
					return err
				}
			}
			if err := in.idle(sets[0].Logs, sets[1].Logs, climbed.Logs); err != nil {
				return err
			}
			free := inertia.Options{FootOnClutch: foot.value()}
			done := cli.Working(cmd.Context(), func() string { return "judging clutch and inertia" })
			r := analysis.Compare(sets[0], sets[1], analysis.CompareOptions{
				Slip:    [2]slip.Options{{DryRoad: dry, Gearbox: box.kind()}, {DryRoad: dry, Gearbox: box.kind()}},
				Inertia: [2]inertia.Options{free, free},
				Compare: compare.Options{Checklist: checklist, Margin: margin / 100, SameDay: sameDay, IdleFlow: idleFlow},
				Ladder:  climbed,
			})
			done()
			if standard != "" {
				r.ToStandardAir(air.Method(standard), sets[0], sets[1])
			}
			return out.print(cmd.Context(), r, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	cmd.Flags().StringArrayVar(&before, "before", nil, "`LOG` from before the work: a file, a folder or a pattern in quotes (repeats)")
	cmd.Flags().StringArrayVar(&after, "after", nil, "`LOG` from after the work: a file, a folder or a pattern in quotes (repeats)")
	cmd.Flags().StringVar(&vehicleAfter, "vehicle-after", "", "vehicle `FILE` of the car after the work, where it differs")
	cmd.Flags().BoolVar(&checklist, "checklist", false, "both sides: consumers off, battery charged, 20 minutes driven, equal oil temperature")
	cmd.Flags().BoolVar(&sameDay, "same-day", false, "both sides in one day, without refuelling: what holds the engine is then read by the same meters")
	cmd.Flags().BoolVar(&idleFlow, "idle-flow", false, "nobody could hold the engine: take what idle draws, with the oil's temperature")
	cmd.Flags().StringArrayVar(&ladder, "ladder", nil, "`LOG` of this car warming up, free revs between holds (repeats)")
	cmd.Flags().Float64Var(&margin, "margin-pct", job.DefaultMarginPct, "a change within this is no change")
	cmd.Flags().StringVar(&standard, "standard-air", "", "also show the pulls in standard air: j1349|iso1585; for engines that are not charged")
	in.add(cmd)
	out.add(cmd)
	out.addPictures(cmd)
	out.addCheck(cmd)
	foot.add(cmd)
	box.add(cmd)
	addDryRoad(cmd, &dry)
	return cmd
}

// apart refuses a log that stands on both sides, and logs of two cars.
func apart(before, after analysis.Set) error {
	for _, b := range before.Logs {
		for _, a := range after.Logs {
			if a.SHA256 == b.SHA256 {
				return &cli.InputError{Err: errSameLog(b.Path, a.Path), Hint: "give each side its own logs"}
			}
			if vb, va := vin(b), vin(a); vb != "" && va != "" && vb != va {
				return &cli.InputError{Err: fmt.Errorf("%s (VIN %s) and %s (VIN %s) are of two cars", b.Path, vb, a.Path, va), Hint: "compare logs of one car"}
			}
		}
	}
	return nil
}

func vin(l *drive.Log) string { return strings.ToUpper(strings.TrimSpace(l.HeaderValue("vin"))) }

func errSameLog(before, after string) error {
	if before == after {
		return fmt.Errorf("%s stands on both sides", before)
	}
	return fmt.Errorf("%s (before) and %s (after) are the same recording", before, after)
}
