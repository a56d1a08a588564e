package adapter_test

import (
	"context"
	"errors"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"flywitness/capture/adapter"
	"flywitness/capture/emulator"
	"flywitness/capture/obd"
	"flywitness/drive"
)

const coolant obd.PID = 0x05

// steady is a car that stands still in time: 1726 rpm, 50 km/h.
type steady struct{}

func (steady) Value(channel string, t float64) (float64, bool) {
	v, ok := map[string]float64{drive.EngineSpeed: 1726, drive.VehicleSpeed: 50, drive.CoolantTemp: 83, drive.Throttle: 20,
		drive.EngineLoad: 40, drive.IntakePressure: 100, drive.IntakeTemp: 20}[channel]
	return v, ok
}

var start = time.Date(2026, 5, 9, 10, 15, 0, 0, time.UTC)

func bench(t *testing.T, link string) *emulator.Bench {
	t.Helper()
	l, err := emulator.LinkByName(link)
	if err != nil {
		t.Fatal(err)
	}
	return emulator.NewBench(emulator.New(steady{}, l, rand.New(rand.NewPCG(1, 2))), start, rand.New(rand.NewPCG(3, 4)))
}

func found(t *testing.T, b *emulator.Bench) *adapter.Adapter {
	t.Helper()
	a := adapter.New(b.Open, b, adapter.Options{})
	if err := a.Connect(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := a.FindCar(t.Context()); err != nil {
		t.Fatal(err)
	}
	return a
}

func TestAllLinks(t *testing.T) {
	for _, l := range emulator.Links() {
		b := bench(t, l.Name)
		a := found(t, b)
		if a.Baud != l.Baud || a.Car.Several != l.Several || a.Car.Format.Link.CAN() != l.CAN || a.Car.Format.Headers == l.CAN || len(a.Ignored) > 0 {
			t.Errorf("%s: %d baud, %+v, ignored %v", l.Name, a.Baud, a.Car, a.Ignored)
		}
		for i := 0; i < 3; i++ {
			got, err := a.Query(t.Context(), obd.EngineSpeed)
			if err != nil || len(got.Values) != 1 || got.Values[0].V != 1726 {
				t.Fatalf("%s: %+v, %v", l.Name, got, err)
			}
			if got.Latency <= 0 || got.Latency > 300*time.Millisecond || got.Sampled.After(b.Now()) {
				t.Errorf("%s: latency %v", l.Name, got.Latency)
			}
		}
		info, err := a.Info(t.Context())
		if err != nil || info.VIN != "FLYWTNSS000MULE01" || len(info.Calibrations) != 1 || info.Calibrations[0] != "MULE-0001-A" ||
			len(info.Verifications) != 1 || info.Verifications[0] != "1A2B3C4D" || info.Lamp == nil || info.Lamp.On ||
			info.WarmUps == nil || *info.WarmUps != 41 || info.Distance == nil || *info.Distance != 1630 || info.Voltage == nil || *info.Voltage != 14.1 {
			t.Errorf("%s: %+v, %v", l.Name, info, err)
		}
	}
}

func TestSeveralInOneRequest(t *testing.T) {
	a := found(t, bench(t, "canmulti"))
	pids := []obd.PID{obd.EngineSpeed, obd.VehicleSpeed, 0x11, 0x04, 0x0B, coolant}
	for i := 0; i < 3; i++ { // the second and third with a count
		got, err := a.Query(t.Context(), pids...)
		if err != nil || len(got.Values) != 6 || got.Values[5].V != 83 {
			t.Fatalf("%+v, %v", got, err)
		}
	}
}

// The reply count saves the wait for more lines: the second request comes back sooner by that time.
func TestCountSavesTheWait(t *testing.T) {
	b := bench(t, "can")
	a := found(t, b)
	took := func() time.Duration {
		from := b.Elapsed()
		if _, err := a.Query(t.Context(), coolant); err != nil {
			t.Fatal(err)
		}
		return b.Elapsed() - from
	}
	first := took()
	var sum time.Duration
	for i := 0; i < 20; i++ {
		sum += took()
	}
	if first-sum/20 < b.Device.Link.Quiet/3 {
		t.Errorf("first %v, then %v in the mean", first, sum/20)
	}
}

// A second control unit that also answers must not be taken for the engine's.
func TestTwoControlUnits(t *testing.T) {
	for _, quirk := range []map[string]string{nil, {"ATCRA7E8": "?", "ATSH7E0": "?"}, {"ATH1": "?"}} {
		b := bench(t, "can")
		b.Device.Gearbox = true
		b.Device.Quirks.Ignores = quirk
		a := found(t, b)
		for i := 0; i < 5; i++ {
			got, err := a.Query(t.Context(), obd.VehicleSpeed)
			if err != nil || got.Values[0].V != 50 {
				t.Errorf("%v: %+v, %v", quirk, got, err)
			}
		}
	}
}

func TestClones(t *testing.T) {
	for _, q := range []emulator.Quirks{
		{NoCount: true},
		{Stray: 0.5},
		{Ignores: map[string]string{"ATE0": "?"}},
		{Ignores: map[string]string{"ATE0": "OK"}},
		{Ignores: map[string]string{"ATS0": "?"}},
		{Ignores: map[string]string{"ATH1": "?"}},
		{Ignores: map[string]string{"ATH1": "OK"}},
		{Ignores: map[string]string{"ATAL": "?", "ATAT1": "?", "ATDPN": "?"}},
		{Ignores: map[string]string{"ATDPN": "?", "ATH1": "?"}},
		{Ignores: map[string]string{"ATL0": "?", "ATZ": "?"}},
	} {
		for _, link := range []string{"kline", "can", "canmulti"} {
			b := bench(t, link)
			b.Device.Quirks = q
			a := found(t, b)
			good := 0
			for i := 0; i < 20; i++ {
				if got, err := a.Query(t.Context(), obd.EngineSpeed); err == nil && got.Values[0].V == 1726 {
					good++
				}
			}
			if good < 17 {
				t.Errorf("%s %+v: %d of 20 good", link, q, good)
			}
			if info, err := a.Info(t.Context()); err != nil || info.VIN != "FLYWTNSS000MULE01" {
				t.Errorf("%s %+v: %+v, %v", link, q, info, err)
			}
		}
	}
}

// Every fault leads to a step after which the value comes again.
func TestFaultsLeadToSteps(t *testing.T) {
	for _, c := range []struct {
		kind emulator.FaultKind
		want map[adapter.Step]bool
	}{
		{emulator.Unplugged, map[adapter.Step]bool{adapter.ReOpenNow: true}},
		{emulator.NoData, map[adapter.Step]bool{adapter.AskAgain: true}},
		{emulator.Unpowered, map[adapter.Step]bool{adapter.AskAgain: true}},
		{emulator.Reset, map[adapter.Step]bool{adapter.SetUp: true, adapter.AskAgain: true}},
		{emulator.Mute, map[adapter.Step]bool{adapter.AskAgain: true, adapter.ReOpenNow: true}},
		{emulator.WrongBaud, map[adapter.Step]bool{adapter.AskAgain: true, adapter.ReOpenNow: true}},
	} {
		b := bench(t, "can")
		a := found(t, b)
		from := b.Elapsed() + time.Second
		b.Device.Faults = emulator.NewFaults(emulator.Fault{Kind: c.kind, From: from, To: from + 5*time.Second})
		if err := b.Sleep(t.Context(), 2*time.Second); err != nil {
			t.Fatal(err)
		}
		_, err := a.Query(t.Context(), obd.EngineSpeed)
		if !c.want[adapter.StepOf(err)] {
			t.Errorf("%v: step %d after %v", c.kind, adapter.StepOf(err), err)
		}
		_ = b.Sleep(t.Context(), 10*time.Second)
		for try := 0; ; try++ {
			if _, err = a.Query(t.Context(), obd.EngineSpeed); err == nil {
				break
			}
			if try > 5 {
				t.Errorf("%v: no value any more: %v", c.kind, err)
				break
			}
			switch adapter.StepOf(err) {
			case adapter.ReOpenNow:
				if err = a.Connect(t.Context()); err == nil {
					err = a.FindCar(t.Context())
				}
			case adapter.SetUp:
				if err = a.SetUp(t.Context()); err == nil {
					err = a.FindCar(t.Context())
				}
			case adapter.Search:
				err = a.FindCar(t.Context())
			}
			if err != nil && try > 3 {
				t.Logf("%v: %v", c.kind, err)
			}
		}
	}
}

func TestIgnitionOff(t *testing.T) {
	for _, link := range []string{"kline", "can"} {
		b := bench(t, link)
		b.Device.Faults = emulator.NewFaults(emulator.Fault{Kind: emulator.Unpowered, To: time.Hour})
		a := adapter.New(b.Open, b, adapter.Options{})
		if err := a.Connect(t.Context()); err != nil {
			t.Fatal(err)
		}
		err := a.FindCar(t.Context())
		if !errors.Is(err, adapter.ErrNoCar) || !strings.Contains(err.Error(), "switch the ignition on") {
			t.Errorf("%s: %v", link, err)
		}
	}
}

func TestCancel(t *testing.T) {
	b := bench(t, "can")
	a := found(t, b)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := a.Query(ctx, obd.EngineSpeed); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}
