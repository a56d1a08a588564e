//go:build proof && linux

package influx

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"flywitness/drive"
	"flywitness/internal/influxd"
)

// What a recording brings: 20 replies a second, each with its latency (docs/accuracy-recording.md).
const (
	rowsPerSecond = 20
	hourRows      = 3600 * rowsPerSecond
)

// TestProofRates measures how fast an hour of recording goes to the server and comes back, and what it weighs.
func TestProofRates(t *testing.T) {
	t.Setenv("INFLUXDB_DATA_CACHE_SNAPSHOT_WRITE_COLD_DURATION", "1s") // what it holds goes to the disk soon
	db := influxd.Start(t)
	p := newProxy(t, db.URL)
	s := open(t, db, func(o *Options) { o.URL = p.URL })
	const hours = 5
	var sent, back time.Duration
	first := int64(0)
	for h := range hours {
		path := jittery(t, fmt.Sprintf("2026-05-09T%02d:00:00Z", h), uint64(h))
		began := time.Now()
		r := send(t, s, path)
		sent += time.Since(began)
		began = time.Now()
		logs := fetch(t, open(t, db), r.Name)
		back += time.Since(began)
		same(t, fromFile(t, path), logs[0])
		if h == 0 {
			first = settled(db) // with what any database of a week takes
		}
	}
	rss := memory(t, db.PID())
	disk := settled(db) - first
	rows := float64(hours * hourRows)
	t.Logf("sent %.0f rows/s, read back %.0f rows/s (2 values a row); on the wire %.1f bytes a row, on the server's disk %.1f after %d MB for the first hour; server's memory %d MB",
		rows/sent.Seconds(), rows/back.Seconds(), float64(p.bytes)/rows, float64(disk)/(rows*(hours-1)/hours), first>>20, rss>>20)
	if rows/sent.Seconds() < 100*rowsPerSecond || rows/back.Seconds() < 500*rowsPerSecond {
		t.Error("slower than a hundred recordings at once, or a drive of an hour takes more than 7 s to read")
	}
}

// jittery writes an hour as a car gives it: times and latencies that wander, an engine speed in quarters that drifts,
// road speed in whole km/h. How well values compress depends on it.
func jittery(t *testing.T, created string, seed uint64) string {
	rnd := rand.New(rand.NewPCG(seed, 1))
	at, rpm, kmh := 0.0, 2000.0, 60.0
	return write(t, created, []drive.Field{{Key: "vehicle", Value: "Mule"}}, []string{drive.EngineSpeed, drive.VehicleSpeed}, func(i int) (float64, []drive.Cell) {
		if i == hourRows {
			return 0, nil
		}
		latency := math.Round(180+60*rnd.Float64()) / 10
		at += 0.03 + latency/1000
		rpm = math.Max(800, math.Min(6000, rpm+0.25*math.Round(40*rnd.NormFloat64())))
		kmh = math.Max(0, math.Min(130, kmh+0.4*rnd.NormFloat64()))
		v := rpm
		if i%2 == 1 {
			v = math.Round(kmh)
		}
		return at, []drive.Cell{{Channel: i % 2, Value: v}, {Channel: 2, Value: latency}}
	})
}

// settled waits until the server has brought everything into its own files, and returns their size.
func settled(db *influxd.Server) int64 {
	last := int64(-1)
	for same := 0; same < 5; {
		time.Sleep(time.Second)
		size := db.Size()
		if size == last {
			same++
		} else {
			same, last = 0, size
		}
	}
	return last
}

// memory is what a process holds of the machine's, from /proc.
func memory(t *testing.T, pid int) int64 {
	t.Helper()
	data, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(data)) {
		var kb int64
		if n, _ := fmt.Sscanf(line, "VmRSS: %d kB", &kb); n == 1 {
			return kb << 10
		}
	}
	t.Fatal("no VmRSS")
	return 0
}

// TestProofMemoryOverAnHourOfOutage records an hour while the server is gone; the clock of the sender is the
// recording's. The sender waits at the same place in the file and holds no more at the end than after the first
// minute. When the server comes back, all of it goes there.
func TestProofMemoryOverAnHourOfOutage(t *testing.T) {
	db := influxd.StartForWrites(t)
	path := filepath.Join(t.TempDir(), "hour.csv")
	w, err := drive.CreateSession(path, []drive.Field{{Key: "created", Value: "2026-05-09T10:15:00Z"}, {Key: "vehicle", Value: "Mule"}}, []string{drive.EngineSpeed, drive.VehicleSpeed})
	if err != nil {
		t.Fatal(err)
	}
	ended := make(chan struct{})
	clock := &outage{quick: newQuick(), w: w, ended: ended, t: t, db: db}
	db.Kill()
	r, err := (&Sender{Server: open(t, db), Clock: clock, Grace: time.Minute}).Follow(context.Background(), path, ended)
	if err != nil || r.Rows != hourRows {
		t.Fatalf("%+v, %v", r, err)
	}
	allThere(t, db, fromFile(t, path))
	grown := int64(clock.late) - int64(clock.early)
	t.Logf("the sender's heap after a minute of outage %.2f MB, after an hour %.2f MB; %d attempts; %d rows then went", float64(clock.early)/(1<<20), float64(clock.late)/(1<<20), clock.waits, r.Rows)
	if grown > 1<<20 {
		t.Errorf("it grew by %d bytes", grown)
	}
}

// outage is a clock on which an hour of recording goes by while the sender sleeps.
type outage struct {
	*quick
	w           *drive.SessionWriter
	ended       chan struct{}
	t           *testing.T
	db          *influxd.Server
	rows, waits int
	early, late uint64
}

func (o *outage) Sleep(ctx context.Context, d time.Duration) error {
	o.waits++
	for until := min(hourRows, o.rows+int(d.Seconds()*rowsPerSecond)); o.rows < until; o.rows++ {
		if err := o.w.WriteRow(float64(o.rows)/rowsPerSecond, []drive.Cell{{Channel: o.rows % 2, Value: float64(o.rows % 5000)}, {Channel: 2, Value: 20}}); err != nil {
			o.t.Error(err)
		}
	}
	switch {
	case o.early == 0 && o.rows >= 60*rowsPerSecond:
		o.early = heap()
	case o.late == 0 && o.rows == hourRows:
		o.late = heap()
		if err := o.w.Close(); err != nil {
			o.t.Error(err)
		}
		o.db.Restart()
		close(o.ended)
	}
	return o.quick.Sleep(ctx, d)
}

func heap() uint64 {
	runtime.GC()
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}
