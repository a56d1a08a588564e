// Command demodata makes the recordings, the vehicle file, the job file and the truth of the demo:
//
//	go run ./sim/demodata -out testdata/demo
//
// The car comes to the workshop with a tired clutch and a heavy flywheel and leaves with a stronger clutch and a lighter
// flywheel. The output is the same on every run. An existing folder is not written over.
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"time"

	"flywitness/drive"
	"flywitness/sim"
)

func main() {
	out := flag.String("out", filepath.Join("testdata", "demo"), "folder to make")
	flag.Parse()
	if err := write(*out); err != nil {
		fmt.Fprintln(os.Stderr, "demodata:", err)
		os.Exit(1)
	}
}

// write makes the whole demo folder.
func write(dir string) error {
	if _, err := os.Stat(dir); err == nil {
		return fmt.Errorf("%s exists: remove it first", dir)
	}
	before, after := tired(), renewed()
	truth := newTruth(before, after)
	for _, s := range sessions(before, after) {
		tr, err := s.record(dir)
		if err != nil {
			return err
		}
		truth.Sessions = append(truth.Sessions, told(s.path, tr))
	}
	data, err := json.MarshalIndent(truth, "", "  ")
	if err != nil {
		return err
	}
	sign, err := logo()
	if err != nil {
		return err
	}
	for name, text := range map[string]string{"mule.toml": vehicleFile, "job.toml": jobFile, "logo.png": sign, "truth.json": string(data) + "\n"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			return err
		}
	}
	return nil
}

// tired is the car as it came in: heavy flywheel, and a clutch that lets go above 250 N m cold, earlier when hot.
func tired() sim.Car {
	c := sim.BenchMule()
	c.Inertia = 0.205
	c.Clutch.Capacity, c.Clutch.Kinetic, c.Clutch.SlopePerRadS = 250, 0.96, 0.0012
	c.Clutch.FadePerK, c.Clutch.FadeFrom = 0.0012, 90
	return c
}

// renewed is the car as it left: lighter flywheel, and a clutch with a margin.
func renewed() sim.Car {
	c := sim.BenchMule()
	c.Inertia = 0.150
	c.Clutch.Capacity = 360
	return c
}

// session is one recording of one side.
type session struct {
	path    string // below the demo folder
	car     sim.Car
	created time.Time
	number  uint64 // random number seed
}

func sessions(before, after sim.Car) []session {
	at := func(month time.Month, day, hour, minute int) time.Time {
		return time.Date(2026, month, day, hour, minute, 0, 0, time.UTC)
	}
	return []session{
		{filepath.Join("before", "monday.csv"), before, at(time.March, 2, 9, 40), 11},
		{filepath.Join("before", "tuesday.csv"), before, at(time.March, 3, 15, 5), 12},
		{filepath.Join("after", "thursday.csv"), after, at(time.March, 26, 10, 15), 13},
		{filepath.Join("after", "friday.csv"), after, at(time.March, 27, 14, 30), 14},
	}
}

// record drives a session and writes it.
func (s session) record(dir string) (*sim.Truth, error) {
	rng := rand.New(rand.NewPCG(s.number, 2026))
	road := sim.HillyRoad(rand.New(rand.NewPCG(1, 2026)), 0.006, 250) // the same road every time
	tr := sim.Drive(s.car, road, plan(rng), rng)
	lg := sim.NewLogger(sim.CANMulti)
	lg.RateHz, lg.SpeedLag, lg.SpeedFilter, lg.Rounding, lg.SpeedScale = 8, 0.22, 0.08, sim.Floor, 1.012
	lg.Slow = []string{drive.CoolantTemp, drive.OilTemp}
	lg.SlowEvery = 60
	path := filepath.Join(dir, s.path)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return nil, err
	}
	meta := []drive.Field{
		{Key: "created", Value: s.created.Format(time.RFC3339)},
		{Key: "tool", Value: "sim/demodata"},
		{Key: "vehicle", Value: "Bench mule"},
		{Key: "adapter", Value: "simulated"},
		{Key: "protocol", Value: "ISO 15765-4 CAN 11/500"},
		{Key: "clock", Value: "monotonic"},
	}
	return tr, lg.WriteSession(path, meta, tr, rng)
}

// plan is what the test driver does in a session: idle and free revs at rest, off-throttle pieces and neutral coasts in
// both directions of one road, pulls, and a little traffic.
func plan(rng *rand.Rand) []sim.Action {
	p := []sim.Action{sim.Idle(20)}
	for range 8 {
		p = append(p, sim.FreeRev(5200+250*rng.NormFloat64()))
	}
	p = append(p, sim.FreeRevWith(4300, sim.RevStyle{SoftLanding: true}))
	for range 2 {
		p = append(p, sim.Overrun(2, 4700, 1500), sim.Coast(74, 48), sim.Overrun(3, 3700, 1600), sim.TurnRound())
	}
	p = append(p,
		sim.Pull(2, 2200, 5800), sim.Pull(3, 2000, 5200), sim.Pull(4, 1900, 4500), sim.TurnRound(),
		sim.Traffic(rng, 1, sim.GentleTraffic()),
		sim.Pull(4, 2000, 4500), sim.Pull(5, 1900, 3700), sim.Pull(4, 2000, 4500),
		sim.Stop(), sim.Idle(5))
	return p
}
