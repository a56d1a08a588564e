package main

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"time"

	"flywitness/capture/emulator"
	"flywitness/cmd/internal/cli"
	"flywitness/sim"

	"github.com/spf13/cobra"
)

// emulateFlags are the flags of emulate.
type emulateFlags struct {
	link, path, drive string
	faults            []string
	faultEvery        time.Duration
	clutchShare       float64
	inertia           float64
	number            uint64
}

func newEmulate() *cobra.Command {
	var f emulateFlags
	cmd := &cobra.Command{
		Use:   "emulate",
		Short: "An emulated car behind an adapter, to try everything without a car",
		Long: `emulate runs an invented car behind an emulated AT-command adapter on a pseudo-terminal and prints the path to give
to record --port in another terminal. It drives by itself, the same drive each time, until Ctrl-C.

Faults on request: --fault KIND@START+LENGTH, for instance --fault unplug@60s+5s. The kinds are unplug, garbage, nodata, slow,
reset, ignition, mute, baud.`,
		Example: `  $ fw-logger emulate --link can --drive tests`,
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			device, err := f.device()
			if err != nil {
				return err
			}
			return emulator.Serve(cmd.Context(), device, f.path, rand.New(rand.NewPCG(f.number, 3)), func() {
				fmt.Fprintln(cmd.OutOrStdout(), f.path)
				fmt.Fprintf(cmd.ErrOrStderr(), "An emulated car on a %s link, drive %q. In another terminal:\n  fw-logger record --port %s --out drive.csv\nCtrl-C ends it.\n",
					f.link, f.drive, f.path)
			})
		},
	}
	fl := cmd.Flags()
	fl.StringVar(&f.link, "link", "can", "kline | can | canmulti")
	fl.StringVar(&f.path, "path", filepath.Join(os.TempDir(), "flywitness-adapter"), "where the pseudo-terminal is to be found")
	fl.StringVar(&f.drive, "drive", "tests", strings.Join(emulator.Drives(), " | "))
	fl.StringArrayVar(&f.faults, "fault", nil, "something that goes wrong: KIND@START+LENGTH (repeats)")
	fl.DurationVar(&f.faultEvery, "fault-every", 0, "a fault of random kind each time this has passed")
	fl.Float64Var(&f.clutchShare, "clutch", 0, "a tired clutch that holds this share (0.5 to 1) of the engine's peak torque; 0 is a good one")
	fl.Float64Var(&f.inertia, "inertia", 0, "effective inertia in kg m2; 0 is the car's own")
	fl.Uint64Var(&f.number, "random", 1, "number from which all chance follows")
	return cmd
}

// device builds the emulated adapter and drives its car.
func (f *emulateFlags) device() (*emulator.Device, error) {
	link, err := emulator.LinkByName(f.link)
	if err != nil {
		return nil, cli.Usagef("%v", err)
	}
	if f.clutchShare != 0 && !(f.clutchShare >= 0.5 && f.clutchShare <= 1) {
		return nil, cli.Usagef("--clutch is a share between 0.5 and 1, not %g", f.clutchShare)
	}
	if f.inertia != 0 && !(f.inertia >= 0.05 && f.inertia <= 1) {
		return nil, cli.Usagef("--inertia is between 0.05 and 1 kg m2, not %g", f.inertia)
	}
	rng := rand.New(rand.NewPCG(f.number, 1))
	plan, err := emulator.Script(f.drive, rng)
	if err != nil {
		return nil, cli.Usagef("%v", err)
	}
	faults, err := f.faultList(rng)
	if err != nil {
		return nil, err
	}
	car := sim.BenchMule()
	if f.clutchShare != 0 {
		car = car.Tired(f.clutchShare, rng)
	}
	if f.inertia != 0 {
		car = car.WithInertia(f.inertia)
	}
	truth := sim.Drive(car, sim.HillyRoad(rng, 0.006, 300), plan, rng)
	d := emulator.New(emulator.FromDrive(truth, sim.NewLogger(sim.CANMulti), true), link, rand.New(rand.NewPCG(f.number, 2)))
	d.Faults = faults
	return d, nil
}

// faultList reads --fault and lays out --fault-every for a day.
func (f *emulateFlags) faultList(rng *rand.Rand) (emulator.Faults, error) {
	var list []emulator.Fault
	for _, text := range f.faults {
		x, err := parseFault(text)
		if err != nil {
			return emulator.Faults{}, err
		}
		list = append(list, x)
	}
	if f.faultEvery < 0 {
		return emulator.Faults{}, cli.Usagef("--fault-every is a time, not %v", f.faultEvery)
	}
	if f.faultEvery > 0 {
		kinds := int(emulator.WrongBaud) + 1
		for at := f.faultEvery; at < 24*time.Hour; at += f.faultEvery {
			length := 500*time.Millisecond + time.Duration(rng.Int64N(int64(3*time.Second)))
			list = append(list, emulator.Fault{Kind: emulator.FaultKind(rng.IntN(kinds)), From: at, To: at + length})
		}
	}
	return emulator.NewFaults(list...), nil
}

// parseFault reads KIND@START+LENGTH; without a length it lasts a second.
func parseFault(text string) (emulator.Fault, error) {
	name, when, ok := strings.Cut(text, "@")
	if !ok {
		return emulator.Fault{}, cli.Usagef("--fault %q is not of the form KIND@START+LENGTH", text)
	}
	kind, err := emulator.FaultByName(name)
	if err != nil {
		return emulator.Fault{}, cli.Usagef("%v", err)
	}
	from, length, long := strings.Cut(when, "+")
	start, err := time.ParseDuration(from)
	if err != nil || start < 0 {
		return emulator.Fault{}, cli.Usagef("--fault %q: %q is no time like 60s", text, from)
	}
	last := time.Second
	if long {
		if last, err = time.ParseDuration(length); err != nil || last <= 0 {
			return emulator.Fault{}, cli.Usagef("--fault %q: %q is no time like 5s", text, length)
		}
	}
	return emulator.Fault{Kind: kind, From: start, To: start + last}, nil
}
