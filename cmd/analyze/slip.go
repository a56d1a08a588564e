package main

import (
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"

	"flywitness/analysis"
	"flywitness/analysis/slip"
	"flywitness/cmd/internal/cli"
	"flywitness/vehicle"

	"github.com/spf13/cobra"
)

func newSlip() *cobra.Command {
	var in logFlags
	var out outputFlags
	var rollers, dry bool
	var box gearboxFlag
	cmd := &cobra.Command{
		Use:   "slip LOG...",
		Short: "Does the clutch slip under load?",
		Long: `slip judges whether the clutch slips under load: each pull, each event, the torque that was held, the smallest
slip that would have been seen. All logs are of one car in one state. Without a vehicle file it still judges slip;
torque then stays unknown. "-" reads one log from standard input.`,
		Example: `  $ fw-analyze slip testdata/demo/after/thursday.csv --vehicle testdata/demo/mule.toml`,
		Args:    cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if rollers && dry {
				return errors.New("--dry-road tells of a road and --rollers of a rolling road: give one of them")
			}
			set, err := in.set(cmd, args, out.lists())
			if err != nil {
				return err
			}
			set.LetGo = runtime.GC
			done := cli.Working(cmd.Context(), func() string { return "judging the clutch" })
			r := analysis.Slip(set, slip.Options{Rollers: rollers, DryRoad: dry, Gearbox: box.kind(), NoTraces: !out.draws()})
			done()
			return out.print(cmd.Context(), r, cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	in.add(cmd)
	out.add(cmd)
	out.addPictures(cmd)
	out.addCheck(cmd)
	box.add(cmd)
	cmd.Flags().BoolVar(&rollers, "rollers", false, "the car was driven on a rolling road: no torque from its acceleration")
	addDryRoad(cmd, &dry)
	return cmd
}

// addDryRoad adds what only the driver can tell of the road.
func addDryRoad(cmd *cobra.Command, dry *bool) {
	cmd.Flags().BoolVar(dry, "dry-road", false, "all was driven on dry, paved roads: what looks like slip is then hardly a wheel that spins")
}

// gearboxFlag is the kind of gearbox, where no vehicle file says it.
type gearboxFlag struct{ value string }

var gearboxKinds = []string{string(vehicle.Manual), string(vehicle.Automatic), string(vehicle.DualClutch), string(vehicle.CVT)}

func (f *gearboxFlag) add(cmd *cobra.Command) {
	cmd.Flags().Var(f, "gearbox", "kind of gearbox where no vehicle file says it: "+strings.Join(gearboxKinds, "|"))
}

func (f *gearboxFlag) kind() vehicle.GearboxType { return vehicle.GearboxType(f.value) }

// String, Set and Type make it a flag.
func (f *gearboxFlag) String() string { return f.value }

// Set takes a kind; an unknown one is an error.
func (f *gearboxFlag) Set(s string) error {
	if !slices.Contains(gearboxKinds, s) {
		return fmt.Errorf("one of %s", strings.Join(gearboxKinds, ", "))
	}
	f.value = s
	return nil
}

// Type names the value in the help.
func (f *gearboxFlag) Type() string { return "kind" }
