//go:build proof

package capture_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"testing"
	"time"

	"flywitness/capture"
	"flywitness/capture/emulator"
	"flywitness/drive"
)

// everyTwenty lays a fault of random kind and of 0.5 to 3.5 s every 20 s.
func everyTwenty(length time.Duration, rng *rand.Rand) []emulator.Fault {
	var list []emulator.Fault
	for at := 60 * time.Second; at < length-30*time.Second; at += 20 * time.Second {
		long := 500*time.Millisecond + time.Duration(rng.Int64N(int64(3*time.Second)))
		list = append(list, emulator.Fault{Kind: emulator.FaultKind(rng.IntN(int(emulator.WrongBaud) + 1)), From: at, To: at + long})
	}
	return list
}

// Two hours with a fault every 20 s: what is missing belongs to a fault, and what is there is what the car showed.
func TestProofFaultSoak(t *testing.T) {
	const length = 2 * time.Hour
	tr := mule()
	fmt.Println("| link | faults | time with a fault | recorded | holes above 1 s without a fault | longest hole beyond its fault, s | median hole beyond its fault, s | engine speeds | of these wrong |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|")
	worst := map[string]float64{}
	for _, link := range emulator.Links() {
		faults := everyTwenty(length, rand.New(rand.NewPCG(11, uint64(link.Baud))))
		b := newBed(link, tr, true)
		b.Device.Faults = emulator.NewFaults(faults...)
		m := newMemory()
		sum := b.record(t, capture.Config{For: length}, m)
		stray, longest := 0, 0.0
		var beyond []float64
		recorded := 0.0
		for i := 1; i < len(m.rows); i++ {
			from, to := m.rows[i-1].t, m.rows[i].t
			if to-from <= 1 {
				recorded += to - from
				continue
			}
			f, ok := faultIn(faults, from, to)
			if !ok {
				stray++
				continue
			}
			over := to - f.To.Seconds()
			beyond = append(beyond, over)
			longest = max(longest, over)
			worst[f.Kind.String()] = max(worst[f.Kind.String()], over)
		}
		wrong := wrongValues(b, m)
		var faulted time.Duration
		for _, f := range faults {
			faulted += f.To - f.From
		}
		fmt.Printf("| %s | %d | %.1f %% | %.1f %% | %d | %.1f | %.1f | %d | %d |\n", link.Name, len(faults), 100*faulted.Seconds()/length.Seconds(), 100*recorded/sum.Duration.Seconds(), stray, longest,
			median(beyond), int(sum.Rates[drive.EngineSpeed]*(sum.Duration-sum.GapTime).Seconds()+0.5), wrong)
		if stray > 0 || longest > 20 {
			t.Errorf("%s: %d holes without a fault, the longest reaches %.1f s beyond its fault", link.Name, stray, longest)
		}
		if last := m.rows[len(m.rows)-1].t; last < length.Seconds()-2 {
			t.Errorf("%s: the last row is of %.0f s", link.Name, last)
		}
		if allowed := map[bool]int{true: len(m.rows) / 1000}[link.CAN]; wrong > allowed { // garbage: a digit for a digit
			t.Errorf("%s: %d values that the car did not show", link.Name, wrong)
		}
	}
	fmt.Println("\n| kind of fault | longest hole beyond it, s |\n|---|---|")
	for k := emulator.Unplugged; k <= emulator.WrongBaud; k++ {
		fmt.Printf("| %v | %.1f |\n", k, worst[k.String()])
	}
}

// faultIn returns the last fault that touches a stretch of time.
func faultIn(list []emulator.Fault, from, to float64) (emulator.Fault, bool) {
	var last emulator.Fault
	found := false
	for _, f := range list {
		if f.From.Seconds() <= to && f.To.Seconds() >= from {
			last, found = f, true
		}
	}
	return last, found
}

func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	s := slices.Sorted(slices.Values(x))
	return s[len(s)/2]
}

// A day at an accelerated clock: no lost row, flat memory.
func TestProofDay(t *testing.T) {
	const length = 24 * time.Hour
	fmt.Println("| link | rows written | rows read back | skipped | heap after 1 h, MB | heap after 24 h, MB | file, MB | time it took |")
	fmt.Println("|---|---|---|---|---|---|---|---|")
	tr := mule()
	for _, link := range emulator.Links()[:2] {
		b := newBed(link, tr, true)
		rows := 0
		b.Device.OnSample = func(emulator.Sample) { rows++ }
		a, err := b.connect(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		rows = 0
		began := time.Now()
		path := filepath.Join(t.TempDir(), "day.csv")
		meta := []drive.Field{{Key: "created", Value: start.Format(time.RFC3339)}}
		f, err := capture.CreateFiles(path, meta, capture.Columns(false, capture.Plans()...), never, nil)
		if err != nil {
			t.Fatal(err)
		}
		var early, late uint64
		hour := time.Duration(0)
		sum, err := capture.Record(t.Context(), capture.Config{
			Adapter: a, Clock: b, Sink: f, Created: start, For: length,
			Tick: func(s capture.Status) {
				if s.Elapsed < hour+time.Hour {
					return
				}
				hour += time.Hour
				runtime.GC()
				var ms runtime.MemStats
				runtime.ReadMemStats(&ms)
				if late = ms.HeapAlloc; hour == time.Hour {
					early = late
				}
			},
		})
		if err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
		took := time.Since(began)
		file, err := os.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		l, err := drive.ReadSession(file, path)
		file.Close()
		if err != nil {
			t.Fatal(err)
		}
		info, _ := os.Stat(path)
		fmt.Printf("| %s | %d | %d | %d | %.2f | %.2f | %.0f | %s |\n", link.Name, rows, l.Rows, l.Skipped,
			float64(early)/1e6, float64(late)/1e6, float64(info.Size())/1e6, took.Round(time.Second))
		if l.Rows != rows || sum.Rows != rows || l.Skipped != 0 || float64(late) > 1.1*float64(early)+1e6 {
			t.Errorf("%s: %d rows of %d, heap from %d to %d bytes", link.Name, l.Rows, rows, early, late)
		}
	}
}
