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

// asLogger makes the test binary run as the logger.
const asLogger = "FLYWITNESS_TEST_AS_LOGGER"

func TestMain(m *testing.M) {
	if os.Getenv(asLogger) != "" {
		main()
	}
	os.Exit(m.Run())
}

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

// 200 recordings are killed with SIGKILL at a random moment. Of each file every line must be whole and follow on the last, and
// only the sample that was under way may be missing.
func TestProofKill(t *testing.T) {
	const rounds, workers = 200, 2
	var mu sync.Mutex
	killed, lines, lost, torn := 0, 0, 0, 0
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			rng := rand.New(rand.NewPCG(5, uint64(w)))
			for range rounds / workers {
				rows, missing, skipped, err := killOnce(t.TempDir(), rng)
				mu.Lock()
				if err != nil {
					t.Error(err)
				}
				killed, lines, lost, torn = killed+1, lines+rows, lost+missing, torn+skipped
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	fmt.Printf("| recordings killed | rows in their files | rows lost | rows that could not be read |\n|---|---|---|---|\n| %d | %d | %d | %d |\n", killed, lines, lost, torn)
	if lost > 0 || torn > 0 {
		t.Errorf("%d rows lost, %d torn", lost, torn)
	}
}

// killOnce records, kills and reads back.
func killOnce(dir string, rng *rand.Rand) (rows, missing, skipped int, err error) {
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
	return readBack(file, int(car.n.Load()))
}

// readBack counts rows, and samples between the first row and the last sample but one that have none.
func readBack(path string, samples int) (rows, missing, skipped int, err error) {
	f, err := os.Open(path)
	if err != nil {
		return
	}
	defer f.Close()
	l, err := drive.ReadSession(f, path)
	if err != nil {
		return
	}
	c := l.Channel(drive.EngineSpeed)
	if c == nil || c.Len() == 0 {
		return 0, 0, 0, fmt.Errorf("%s holds no row", path)
	}
	numbers := make([]int, c.Len())
	for i, v := range c.V {
		numbers[i] = int(v*4 + 0.5)
		if i > 0 && numbers[i] != numbers[i-1]+1 {
			missing += numbers[i] - numbers[i-1] - 1
		}
	}
	missing += max(0, samples-1-numbers[len(numbers)-1])
	return l.Rows, missing, l.Skipped, nil
}
