//go:build proof && linux

package capture_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"flywitness/capture"
	"flywitness/capture/adapter"
	"flywitness/capture/clock"
	"flywitness/capture/emulator"
	"flywitness/drive"
	"flywitness/sim"
)

// The same as TestProofTimeStamps in real time: serial library, pseudo-terminal and the machine's own scheduling are in it. A machine that
// is busy is late now and then, at both ends, so each error is taken relative to the reply time of its own row.
func TestProofTimeStampsRealTime(t *testing.T) {
	fmt.Println("| link | rows | reply time: median, ms | largest, ms | bias / reply time | sd / reply time |")
	fmt.Println("|---|---|---|---|---|---|")
	tr := mule()
	for _, link := range emulator.Links() {
		var mu sync.Mutex
		var samples []emulator.Sample
		rng := rand.New(rand.NewPCG(1, 2))
		dev := emulator.New(emulator.FromDrive(tr, sim.NewLogger(sim.CANMulti), true), link, rng)
		dev.OnSample = func(s emulator.Sample) {
			mu.Lock()
			defer mu.Unlock()
			samples = append(samples, s)
		}
		path := filepath.Join(t.TempDir(), "adapter")
		ctx, stop := context.WithCancel(t.Context())
		ready, done := make(chan bool), make(chan error, 1)
		began := time.Now()
		go func() { done <- emulator.Serve(ctx, dev, path, rng, func() { close(ready) }) }()
		<-ready
		a := adapter.New(func(baud int) (adapter.Port, error) { return adapter.OpenSerial(path, baud) }, clock.System{}, adapter.Options{Baud: link.Baud})
		if err := a.Connect(t.Context()); err != nil {
			t.Fatal(err)
		}
		if err := a.FindCar(t.Context()); err != nil {
			t.Fatal(err)
		}
		mu.Lock()
		samples = samples[:0]
		mu.Unlock()
		m := newMemory()
		length := time.Since(began) + time.Minute
		if _, err := capture.Record(t.Context(), capture.Config{Adapter: a, Clock: clock.System{}, Sink: m, Created: began, For: length}); err != nil {
			t.Fatal(err)
		}
		a.Close()
		stop()
		if err := <-done; err != nil {
			t.Fatal(err)
		}
		if len(m.rows) < len(samples)*99/100 {
			t.Fatalf("%s: %d rows of %d samples", link.Name, len(m.rows), len(samples))
		}
		var sum, square float64
		var replies []float64
		next := 0
		for _, r := range m.rows {
			for next+1 < len(samples) && samples[next+1].Sampled.Seconds() < r.t-r.cells[drive.Latency]/2000 { // a reply was lost
				next++
			}
			off := r.t - samples[next].Sampled.Seconds()
			next = min(next+1, len(samples)-1)
			took := r.cells[drive.Latency] / 1000
			replies = append(replies, took*1000)
			sum, square = sum+off/took, square+off*off/took/took
		}
		n := float64(len(m.rows))
		bias := sum / n
		sd := math.Sqrt(square/n - bias*bias)
		fmt.Printf("| %s | %d | %.1f | %.0f | %+.1f %% | %.1f %% |\n", link.Name, len(m.rows), median(replies), slices.Max(replies), 100*bias, 100*sd)
		if math.Abs(bias) > 0.1 || sd > 0.3 {
			t.Errorf("%s: bias %.1f %%, sd %.1f %% of the reply time", link.Name, 100*bias, 100*sd)
		}
	}
}
