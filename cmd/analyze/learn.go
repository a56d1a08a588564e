package main

import (
	"bytes"
	"fmt"
	"math"

	"flywitness/analysis"
	"flywitness/analysis/calibrate"
	"flywitness/cmd/internal/cli"
	"flywitness/vehicle"

	"github.com/spf13/cobra"
)

func newLearn() *cobra.Command {
	var in logFlags
	var out outputFlags
	var file string
	cmd := &cobra.Command{
		Use:   "learn LOG...",
		Short: "Which gears does a log show, and how late is the road speed?",
		Long: `learn tells what a set of logs of one car says of itself: the gearing (engine speed per road speed of each gear), how
late and how coarse the road speed is. --out writes a vehicle file to fill in; it never overwrites one.`,
		Example: `  $ fw-analyze learn testdata/demo/before/monday.csv`,
		Args:    cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			set, err := in.set(cmd, args, out.lists())
			if err != nil {
				return err
			}
			done := cli.Working(cmd.Context(), func() string { return "learning the gearing" })
			veh := set.Vehicle
			r := analysis.Learn(set) // the last to need the logs, which may be long
			done()
			if file != "" {
				if err := writeLearnt(file, veh, r.Calibration); err != nil {
					return err
				}
				fmt.Fprintf(cmd.ErrOrStderr(), "wrote %s: fill in the mass and what else stands as a comment, then give it with --vehicle\n", file)
			}
			return out.print(cmd.Context(), r, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	in.add(cmd)
	out.add(cmd)
	cmd.Flags().StringVar(&file, "out", "", "write a vehicle `FILE` to fill in")
	return cmd
}

// learntCar is what a log tells of a car beside its gearing.
func learntCar(cal *calibrate.Calibration) *vehicle.Vehicle {
	v := &vehicle.Vehicle{Engine: vehicle.Engine{IdleRPM: 10 * math.Round(cal.Model().Idle/10)}}
	if cal.SpeedSource != "unknown" {
		v.SpeedSource = vehicle.SpeedSource(cal.SpeedSource)
	}
	return v
}

// writeLearnt writes a new vehicle file with the learnt gearing.
func writeLearnt(path string, veh *vehicle.Vehicle, cal *calibrate.Calibration) error {
	if len(cal.Gears) == 0 {
		return fmt.Errorf("%s was not written: the logs show no gears; record a drive through the gears", path)
	}
	if veh == nil {
		veh = learntCar(cal)
	}
	var b bytes.Buffer
	if err := vehicle.WriteTOML(&b, veh, ladder(cal), "Learnt from a log; fill in what stands as a comment."); err != nil {
		return err
	}
	return createFile(path, &b)
}
