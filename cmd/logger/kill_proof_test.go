//go:build proof && linux

package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"flywitness/capture/emulator"
	"flywitness/drive"
)

// counting is a car whose engine speed numbers its samples: 0.25 rpm more each time.
type counting struct{ n atomic.Int64 }

func (c *counting) Value(channel string, _ float64) (float64, bool) {
	switch channel {
	case drive.EngineSpeed:
		return float64(c.n.Add(1)) / 4, true
	case drive.VehicleSpeed:
		return 50, true
	}
	return 0, false
}

// 200 recordings are killed with SIGKILL at a random moment. Of each file every line must be whole, and only the sample that was under
// way may be missing at its end. A sample missing before that is a reply that did not come in time: the machine was busy.
func TestProofKill(t *testing.T) {
	const rounds, workers = 200, 2
	var mu sync.Mutex
	killed, lines, lost, late, torn := 0, 0, 0, 0, 0
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			rng := rand.New(rand.NewPCG(5, uint64(w)))
			for range rounds / workers {
				k, err := killOnce(t.TempDir(), rng)
				mu.Lock()
				if err != nil {
					t.Error(err)
				}
				killed, lines, lost, late, torn = killed+1, lines+k.rows, lost+k.lost, late+k.late, torn+k.skipped
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	fmt.Printf("| recordings killed | rows in their files | rows lost | rows that could not be read | replies that came too late |\n|---|---|---|---|---|\n| %d | %d | %d | %d | %d |\n",
		killed, lines, lost, torn, late)
	if lost > 0 || torn > 0 {
		t.Errorf("%d rows lost, %d torn", lost, torn)
	}
}

// kill is what one killed recording left.
type kill struct{ rows, lost, late, skipped int }

// killOnce records, kills and reads back.
func killOnce(dir string, rng *rand.Rand) (k kill, err error) {
	link, _ := emulator.LinkByName("canmulti")
	link.Search = emulator.Span{Min: 50 * time.Millisecond, Max: 80 * time.Millisecond}
	car := &counting{}
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	port, file := filepath.Join(dir, "adapter"), filepath.Join(dir, "drive.csv")
	ready, served := make(chan bool), make(chan error, 1)
	go func() {
		served <- emulator.Serve(ctx, emulator.New(car, link, rng), port, rng, func() { close(ready) })
	}()
	<-ready
	cmd := exec.Command(os.Args[0], "record", "--port", port, "--baud", "115200", "--out", file)
	cmd.Env = append(os.Environ(), asLogger+"=1")
	if err = cmd.Start(); err != nil {
		return
	}
	for i := 0; i < 400; i++ {
		if info, err := os.Stat(file); err == nil && info.Size() > 1500 {
			break
		}
		time.Sleep(25 * time.Millisecond)
	}
	time.Sleep(time.Duration(rng.IntN(600)) * time.Millisecond)
	if err = cmd.Process.Kill(); err != nil {
		return
	}
	_ = cmd.Wait() // it was killed
	stop()
	if err = <-served; err != nil {
		return
	}
	return readKilled(file, int(car.n.Load()))
}

// readKilled counts rows, samples missing between them, and samples after the last row but the one under way.
func readKilled(path string, samples int) (k kill, err error) {
	f, err := os.Open(path)
	if err != nil {
		return k, err
	}
	defer f.Close()
	l, err := drive.ReadSession(f, path)
	if err != nil {
		return k, err
	}
	c := l.Channel(drive.EngineSpeed)
	if c == nil || c.Len() == 0 {
		return k, fmt.Errorf("%s holds no row", path)
	}
	k.rows, k.skipped = l.Rows, l.Skipped
	last := 0
	for i, v := range c.V {
		n := int(v*4 + 0.5)
		if i > 0 {
			k.late += n - last - 1
		}
		last = n
	}
	k.lost = max(0, samples-1-last)
	return k, nil
}
