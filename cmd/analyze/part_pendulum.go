package main

import (
	"math"
	"strconv"
	"strings"

	"flywitness/analysis/part"
	"flywitness/analysis/practice"
	"flywitness/cmd/internal/cli"

	"github.com/spf13/cobra"
)

// pendulumFlags are the rig and what was swung on it.
type pendulumFlags struct {
	kind                                        string
	times, afterTimes, platformTimes            string
	swings                                      int
	amplitude                                   float64
	radius, spacing, length, radiusSD, lengthSD *quantityFlag
	mass, afterMass, platformMass, massSD       *quantityFlag
}

func newPartPendulum() *cobra.Command {
	var out benchFlags
	var f pendulumFlags
	cmd := &cobra.Command{
		Use:   "pendulum",
		Short: "A part swung on two or three threads, alone or old against new",
		Long: `pendulum takes the time of a part that hangs on three threads (trifilar) or two (bifilar) of equal length and twists to
and fro about its axis. Tie the threads at equal distances from the axis, let them hang straight down, turn the part by a
few degrees, and time 20 swings to and fro; repeat it three times or more. Small parts lie centred on a platform, which is
timed empty as well. With --after-mass-kg and --after-times the new part is swung on the same rig: errors of the rig are
common to both, so the change is known better than either.`,
		Example: `  $ fw-analyze part pendulum --radius-mm 140 --length-mm 1200 --mass-kg 10.7 --times 37.5,37.4,37.6 --swings 20
  $ fw-analyze part pendulum --radius-mm 140 --length-mm 1200 --mass-kg 10.7 --times 37.5,37.4,37.6 --after-mass-kg 5.9 --after-times 37.2,37.3,37.2`,
		Args: cobra.NoArgs,
	}
	f.add(cmd)
	out.add(cmd)
	cmd.RunE = func(cmd *cobra.Command, _ []string) error {
		finding, err := f.measure()
		if err != nil {
			return err
		}
		return out.finish(cmd, finding, practice.Swinging, practice.Modifying)
	}
	return cmd
}

func (f *pendulumFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.kind, "kind", "trifilar", "trifilar or bifilar")
	f.radius = addQuantity(cmd, "radius", "length", "distance of the threads from the axis")
	f.spacing = addQuantity(cmd, "spacing", "length", "distance of the two threads of a bifilar pendulum, in place of the radius")
	f.length = addQuantity(cmd, "length", "length", "length of the threads")
	f.radiusSD = addQuantity(cmd, "radius-sd", "length", "standard deviation of the radius (default 1 mm)")
	f.lengthSD = addQuantity(cmd, "length-sd", "length", "standard deviation of the length (default 3 mm)")
	f.mass = addQuantity(cmd, "mass", "mass", "mass of the part")
	f.afterMass = addQuantity(cmd, "after-mass", "mass", "mass of the new part")
	f.platformMass = addQuantity(cmd, "platform-mass", "mass", "mass of the platform")
	f.massSD = addQuantity(cmd, "mass-sd", "mass", "standard deviation of each mass (default 20 g)")
	cmd.Flags().StringVar(&f.times, "times", "", "seconds for all the swings, one for each repeat: 37.5,37.4,37.6")
	cmd.Flags().StringVar(&f.afterTimes, "after-times", "", "the same of the new part")
	cmd.Flags().StringVar(&f.platformTimes, "platform-times", "", "the same of the empty platform")
	cmd.Flags().IntVar(&f.swings, "swings", 20, "swings to and fro that were timed")
	cmd.Flags().Float64Var(&f.amplitude, "amplitude-deg", 0, "how far it was turned, degrees, where it was more than 5")
}

// rig reads what hangs.
func (f *pendulumFlags) rig(r *reader) (part.Rig, error) {
	rig := part.Rig{Length: r.need(f.length), Amplitude: f.amplitude * math.Pi / 180,
		RadiusSD: r.or(f.radiusSD, part.DefaultRadiusSD), LengthSD: r.or(f.lengthSD, part.DefaultLengthSD),
		MassSD: r.or(f.massSD, part.DefaultMassSD), PlatformMass: r.or(f.platformMass, 0)}
	switch {
	case f.kind != "trifilar" && f.kind != "bifilar":
		return rig, cli.Usagef("--kind is %q; it must be trifilar or bifilar", f.kind)
	case r.given(f.spacing) && r.given(f.radius):
		return rig, cli.Usagef("--spacing and --radius give the same thing; keep one of them")
	case r.given(f.spacing) && f.kind == "trifilar":
		return rig, cli.Usagef("--spacing belongs to --kind bifilar; three threads need --radius-mm")
	case r.given(f.spacing):
		rig.Radius = r.or(f.spacing, 0) / 2
	default:
		rig.Radius = r.need(f.radius)
	}
	var err error
	if f.platformTimes != "" {
		rig.Platform, err = f.timing("--platform-times", f.platformTimes)
	}
	return rig, err
}

func (f *pendulumFlags) timing(flag, text string) (part.Timing, error) {
	t := part.Timing{Swings: f.swings}
	for _, s := range strings.Split(text, ",") {
		x, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
		if err != nil {
			return t, cli.Usagef("%s: %q is no time in seconds; give them as 37.5,37.4,37.6", flag, s)
		}
		t.Times = append(t.Times, x)
	}
	return t, nil
}

func (f *pendulumFlags) hung(r *reader, name string, mass *quantityFlag, flag, text string) (part.Hung, error) {
	h := part.Hung{Name: name, Mass: r.need(mass)}
	if text == "" {
		return h, cli.Usagef("%s is missing", flag)
	}
	var err error
	h.Timing, err = f.timing(flag, text)
	return h, err
}

func (f *pendulumFlags) measure() (*part.Finding, error) {
	var r reader
	rig, err := f.rig(&r)
	if err != nil {
		return nil, err
	}
	pair := f.afterTimes != "" || r.given(f.afterMass)
	name := "part"
	if pair {
		name = "old part"
	}
	before, err := f.hung(&r, name, f.mass, "--times", f.times)
	if r.err != nil {
		return nil, r.err
	}
	if err != nil {
		return nil, err
	}
	out := &part.Finding{Method: "pendulum"}
	if out.Inertia, out.Budget, err = rig.Swing(before); err != nil || !pair {
		return out, wrong(err)
	}
	after, err := f.hung(&r, "new part", f.afterMass, "--after-times", f.afterTimes)
	if r.err != nil {
		return nil, r.err
	}
	if err != nil {
		return nil, err
	}
	if out.After, _, err = rig.Swing(after); err != nil {
		return nil, wrong(err)
	}
	out.Change, out.Budget, err = rig.Change(before, after)
	return out, wrong(err)
}
