//go:build linux

package emulator_test

import (
	"context"
	"errors"
	"io/fs"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"flywitness/capture/adapter"
	"flywitness/capture/clock"
	"flywitness/capture/emulator"
	"flywitness/capture/obd"
	"flywitness/drive"
)

// still is a car that idles.
type still struct{}

func (still) Value(channel string, _ float64) (float64, bool) {
	v, ok := map[string]float64{drive.EngineSpeed: 850, drive.VehicleSpeed: 0, drive.CoolantTemp: 90}[channel]
	return v, ok
}

// served runs a device on a pseudo-terminal and returns the path of its link.
func served(t *testing.T, link string, faults ...emulator.Fault) string {
	t.Helper()
	l, err := emulator.LinkByName(link)
	if err != nil {
		t.Fatal(err)
	}
	l.Search = emulator.Span{Min: 100 * time.Millisecond, Max: 200 * time.Millisecond}
	d := emulator.New(still{}, l, rand.New(rand.NewPCG(1, 1)))
	d.Faults = emulator.NewFaults(faults...)
	path := filepath.Join(t.TempDir(), "adapter")
	ctx, cancel := context.WithCancel(context.Background())
	ready, done := make(chan bool), make(chan error)
	go func() {
		done <- emulator.Serve(ctx, d, path, rand.New(rand.NewPCG(2, 2)), func() { close(ready) })
	}()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
	})
	<-ready
	return path
}

// Over a real pseudo-terminal and the serial library: the baud rate is found, values come, a second user is turned away.
func TestSerialToPseudoTerminal(t *testing.T) {
	t.Parallel()
	path := served(t, "canmulti")
	a := adapter.New(func(baud int) (adapter.Port, error) { return adapter.OpenSerial(path, baud) }, clock.System{}, adapter.Options{})
	if err := a.Connect(t.Context()); err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	if err := a.FindCar(t.Context()); err != nil {
		t.Fatal(err)
	}
	if a.Baud != 115200 || !a.Car.Several {
		t.Errorf("%d baud, %+v", a.Baud, a.Car)
	}
	for i := 0; i < 20; i++ {
		got, err := a.Query(t.Context(), obd.EngineSpeed, obd.VehicleSpeed)
		if err != nil || len(got.Values) != 2 || got.Values[0].V != 850 || got.Latency > 200*time.Millisecond {
			t.Fatalf("%+v, %v", got, err)
		}
	}
	if _, err := adapter.OpenSerial(path, 38400); err == nil || !strings.Contains(err.Error(), "in use") {
		t.Errorf("a second user gets %v", err)
	}
}

func TestUnplugIsAHangup(t *testing.T) {
	t.Parallel()
	path := served(t, "can", emulator.Fault{Kind: emulator.Unplugged, From: 400 * time.Millisecond, To: 1500 * time.Millisecond})
	p, err := adapter.OpenSerial(path, 38400)
	if err != nil {
		t.Fatal(err)
	}
	_ = p.SetReadDeadline(time.Now().Add(100 * time.Millisecond))
	if _, err := p.Read(make([]byte, 8)); !errors.Is(err, adapter.ErrTimeout) {
		t.Errorf("a silent line gives %v", err)
	}
	_ = p.SetReadDeadline(time.Now().Add(5 * time.Second))
	if _, err := p.Read(make([]byte, 8)); !errors.Is(err, adapter.ErrHangup) {
		t.Errorf("an unplugged line gives %v", err)
	}
	p.Close()
	if _, err := adapter.OpenSerial(path, 38400); !errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), "fw-logger ports") {
		t.Errorf("opening it gives %v", err)
	}
	for range 200 {
		if p, err = adapter.OpenSerial(path, 38400); err == nil {
			break
		}
		time.Sleep(25 * time.Millisecond)
	}
	if err != nil {
		t.Fatalf("plugged in again: %v", err)
	}
	p.Close()
}

func TestOpenErrors(t *testing.T) {
	for path, want := range map[string]string{
		"/dev/null": "no serial port", t.TempDir(): "no serial port", "/nowhere/tty": "no port",
	} {
		if _, err := adapter.OpenSerial(path, 38400); err == nil || !strings.Contains(err.Error(), want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", path, err)
		}
	}
}
