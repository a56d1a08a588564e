package capture_test

import (
	"context"
	"crypto/sha256"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"flywitness/capture"
	"flywitness/capture/adapter"
	"flywitness/capture/emulator"
	"flywitness/drive"
	"flywitness/internal/numbers"
	"flywitness/sim"
)

var start = time.Date(2026, 5, 9, 10, 15, 0, 0, time.UTC)

// mule is a short drive with free revs, a pull through third and an overrun.
var mule = sync.OnceValue(func() *sim.Truth {
	plan := []sim.Action{
		sim.Idle(4), sim.FreeRev(4000), sim.FreeRev(4000), sim.Accelerate(50), sim.Pull(3, 2000, 5000), sim.Overrun(3, 5000, 1800),
		sim.Coast(40, 20), sim.Stop(),
	}
	return sim.Drive(sim.BenchMule(), sim.LevelRoad(), plan, rand.New(rand.NewPCG(7, 7)))
})

// bed is a bench with the drive behind it.
type bed struct {
	*emulator.Bench
	tr      *sim.Truth
	shown   func(string, float64) (float64, bool)
	samples []emulator.Sample
	before  time.Duration // that connecting took
	notices []string
}

// without is a car that lacks some channels.
type without struct {
	emulator.Car
	lacks []string
}

func (w without) Value(channel string, t float64) (float64, bool) {
	if slices.Contains(w.lacks, channel) {
		return 0, false
	}
	return w.Car.Value(channel, t)
}

func newBed(link emulator.Link, tr *sim.Truth, loop bool, lacks ...string) *bed {
	lg := sim.NewLogger(sim.CANMulti)
	b := &bed{tr: tr, shown: lg.Shown(tr)}
	dev := emulator.New(without{emulator.FromDrive(tr, lg, loop), lacks}, link, rand.New(rand.NewPCG(1, 2)))
	dev.OnSample = func(s emulator.Sample) { b.samples = append(b.samples, s) }
	b.Bench = emulator.NewBench(dev, start, rand.New(rand.NewPCG(3, 4)))
	return b
}

// connect brings up the adapter on the bed.
func (b *bed) connect(ctx context.Context) (*adapter.Adapter, error) {
	a := adapter.New(b.Open, b, adapter.Options{})
	if err := a.Connect(ctx); err != nil {
		return nil, err
	}
	return a, a.FindCar(ctx)
}

// memory is a sink in memory.
type memory struct {
	cols  []string
	rows  []row
	notes []string
}

type row struct {
	t     float64
	cells map[string]float64
}

func (m *memory) Index(c string) int {
	for i, x := range m.cols {
		if x == c {
			return i
		}
	}
	return -1
}

func (m *memory) WriteRow(t float64, cells []drive.Cell) error {
	r := row{t, map[string]float64{}}
	for _, c := range cells {
		r.cells[m.cols[c.Channel]] = c.Value
	}
	m.rows = append(m.rows, r)
	return nil
}

func (m *memory) WriteNote(t float64, text string) error {
	m.notes = append(m.notes, fmt.Sprintf("%.1f %s", t, text))
	return nil
}

func newMemory() *memory {
	return &memory{cols: append(capture.Columns(true, capture.Plans()...), drive.Latency)}
}

// record records for a while into memory; time_s counts from the bench's start.
func (b *bed) record(t *testing.T, cfg capture.Config, m *memory) capture.Summary {
	t.Helper()
	a, err := b.connect(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	b.samples, b.before = b.samples[:0], b.Elapsed()
	cfg.Adapter, cfg.Clock, cfg.Created = a, b, start
	if cfg.Sink == nil {
		cfg.Sink = m
	}
	cfg.Notice = func(s string) { b.notices = append(b.notices, s) }
	sum, err := capture.Record(t.Context(), cfg)
	if err != nil {
		t.Fatal(err)
	}
	return sum
}

// On every link, what is recorded is what the control unit took, and the time of the row is near the true moment.
func TestRecordedIsWhatTheCarShowed(t *testing.T) {
	t.Parallel()
	tr := mule()
	for _, link := range emulator.Links() {
		b := newBed(link, tr, false)
		m := newMemory()
		sum := b.record(t, capture.Config{For: time.Duration(tr.Duration()) * time.Second}, m)
		if len(m.rows) != len(b.samples) || sum.Rows != len(m.rows) || sum.Gaps != 0 || sum.Rejected != 0 {
			t.Fatalf("%s: %d rows of %d samples, %+v", link.Name, len(m.rows), len(b.samples), sum)
		}
		for i, r := range m.rows {
			at := b.samples[i].Sampled.Seconds()
			if off := math.Abs(r.t - at); off > 0.5*r.cells[drive.Latency]/1000 {
				t.Fatalf("%s row %d: time is off by %.4f s, latency %v ms", link.Name, i, off, r.cells[drive.Latency])
			}
			for _, c := range []string{drive.EngineSpeed, drive.VehicleSpeed, drive.EngineLoad, drive.CoolantTemp} {
				v, ok := r.cells[c]
				d, _ := drive.Define(c)
				shown, _ := b.shown(c, at)
				if want := d.Round(shown); ok && math.Abs(v-want) > 1e-6 {
					t.Fatalf("%s row %d: %s is %v, the car showed %v", link.Name, i, c, v, want)
				}
			}
		}
		for _, c := range []string{drive.EngineSpeed, drive.VehicleSpeed, drive.EngineLoad, drive.Pedal, drive.CoolantTemp, drive.IntakePressure} {
			if sum.Rates[c] == 0 {
				t.Errorf("%s: no %s", link.Name, c)
			}
		}
	}
}

// The poll list of free revs gives engine speed nearly all requests of a slow link.
func TestPlans(t *testing.T) {
	t.Parallel()
	tr := mule()
	rates := map[string]capture.Summary{}
	for _, p := range []capture.Plan{capture.RoadPlan(), capture.RevDownPlan(), capture.PullPlan()} {
		link, _ := emulator.LinkByName("kline")
		rates[p.Name] = newBed(link, tr, true).record(t, capture.Config{For: time.Minute, Plan: func() capture.Plan { return p }}, newMemory())
	}
	if r := rates["free revs"].Rates[drive.EngineSpeed] / rates["road"].Rates[drive.EngineSpeed]; r < 1.7 {
		t.Errorf("free revs give %.2f times the engine speeds of the road", r)
	}
	if rates["free revs"].Rates[drive.VehicleSpeed] == 0 || rates["free revs"].Rates[drive.Pedal] == 0 {
		t.Errorf("road speed or pedal is never asked for in free revs: %v", rates["free revs"].Rates)
	}
	p := rates["pull"].Rates
	if p[drive.EngineSpeed] < rates["road"].Rates[drive.EngineSpeed] || math.Abs(p[drive.EngineSpeed]-p[drive.VehicleSpeed]) > 0.1 {
		t.Errorf("pull: %v", p)
	}
}

// The poll list of holds asks for air and trims with each engine speed, and for what tells two sittings apart every two seconds where the
// link can; that of falls costs engine speed little. A car without an air meter is asked for its intake pressure, one without trims for
// its fuel rate.
func TestPlansOfHoldAndFall(t *testing.T) {
	numbers.Only(t)
	t.Parallel()
	tr := mule()
	record := func(link string, p capture.Plan, lacks ...string) map[string]float64 {
		l, _ := emulator.LinkByName(link)
		b := newBed(l, tr, true, lacks...)
		return b.record(t, capture.Config{For: time.Minute, Plan: func() capture.Plan { return p }}, newMemory()).Rates
	}
	hold, fall := capture.HoldPlan(), capture.FallPlan()
	for _, link := range []string{"can", "canmulti"} {
		r := record(link, hold)
		for _, c := range hold.Every {
			if math.Abs(r[c]-r[drive.EngineSpeed]) > 0.1 || r[c] < 3.5 {
				t.Errorf("%s: hold: %.2f/s of %s, %.2f/s of engine speed", link, r[c], c, r[drive.EngineSpeed])
			}
		}
		for _, c := range hold.Timed {
			if math.Abs(r[c]-0.5) > 0.1 {
				t.Errorf("%s: hold: %.2f/s of %s", link, r[c], c)
			}
		}
		r = record(link, fall)
		if math.Abs(r[drive.ModuleVoltage]-1) > 0.1 || math.Abs(r[drive.IntakePressure]-1) > 0.1 || r[drive.EngineSpeed] < 15 || len(r) != 3 {
			t.Errorf("%s: fall: %v", link, r)
		}
	}
	// On a slow link the timed channels take one request in five.
	if r := record("kline", hold); r[drive.EngineSpeed] < 1 || r[drive.OilTemp] == 0 || r[drive.RunTime] == 0 {
		t.Errorf("kline: hold: %v", r)
	}
	r := record("can", hold, drive.AirFlow, drive.ShortFuelTrim, drive.LongFuelTrim)
	if r[drive.IntakePressure] < 3.5 || r[drive.FuelRate] < 3.5 {
		t.Errorf("without air meter and trims: %v", r)
	}
}

// An ordinary recording asks for nothing that only a guided test needs, and its file has no column for it.
func TestOrdinaryRecordingIsNotSlowed(t *testing.T) {
	p := capture.RoadPlan()
	if len(p.Every) != 2 || len(p.Often) != 4 || len(p.Slow) != 11 || len(p.Timed) != 0 {
		t.Errorf("the road's plan is %+v", p)
	}
	if cols := capture.Columns(false, p); len(cols) != 17 || slices.Contains(cols, drive.ShortFuelTrim) {
		t.Errorf("columns %v", cols)
	}
	if cols := capture.Columns(true, capture.Plans()...); !slices.Contains(cols, drive.ShortFuelTrim) || cols[len(cols)-1] != drive.Altitude {
		t.Errorf("columns of a guided recording %v", cols)
	}
}

// Whatever happens to adapter and car, the recording goes on, and the gap is marked.
func TestGoesOnAfterFaults(t *testing.T) {
	numbers.Only(t)
	t.Parallel()
	tr := mule()
	for _, link := range emulator.Links() {
		for k := emulator.Unplugged; k <= emulator.WrongBaud; k++ {
			b := newBed(link, tr, true)
			from, to := 25*time.Second, 37*time.Second
			b.Device.Faults = emulator.NewFaults(emulator.Fault{Kind: k, From: from, To: to})
			m := newMemory()
			sum := b.record(t, capture.Config{For: 80 * time.Second}, m)
			last := m.rows[len(m.rows)-1]
			if last.t < 79 {
				t.Errorf("%s %v: the last row is of %.1f s; notes %v", link.Name, k, last.t, m.notes)
			}
			hole := longestHole(m.rows)
			switch k {
			case emulator.Slow, emulator.Garbage:
			case emulator.Reset:
				if hole > 15 || len(m.notes) == 0 {
					t.Errorf("%s %v: hole of %.1f s, notes %v", link.Name, k, hole, m.notes)
				}
			default:
				if hole > 15+25 || sum.Gaps == 0 || len(m.notes) < 2 {
					t.Errorf("%s %v: hole of %.1f s, %d gaps, notes %v", link.Name, k, hole, sum.Gaps, m.notes)
				}
			}
			unnoticed := 0
			if k == emulator.Garbage && link.CAN { // a wrong digit for a digit: only the K-line has a check byte behind its values
				unnoticed = 3
			}
			if wrong := wrongValues(b, m); wrong > unnoticed {
				t.Errorf("%s %v: %d of %d engine speeds are not what the car showed", link.Name, k, wrong, len(m.rows))
			}
		}
	}
}

func longestHole(rows []row) float64 {
	hole := 0.0
	for i := 1; i < len(rows); i++ {
		hole = math.Max(hole, rows[i].t-rows[i-1].t)
	}
	return hole
}

// wrongValues counts the recorded engine speeds that the car did not show within the reply time.
func wrongValues(b *bed, m *memory) int {
	wrong := 0
	for _, r := range m.rows {
		v, ok := r.cells[drive.EngineSpeed]
		if !ok {
			continue
		}
		low, high := math.Inf(1), math.Inf(-1)
		reach := r.cells[drive.Latency] / 1000
		for at := r.t - reach; at <= r.t+reach; at += 0.002 {
			x, _ := b.shown(drive.EngineSpeed, math.Mod(at, b.tr.Duration()))
			low, high = math.Min(low, x), math.Max(high, x)
		}
		if v < low-2 || v > high+2 {
			wrong++
		}
	}
	return wrong
}

func TestGPSBesideOnTheSameClock(t *testing.T) {
	t.Parallel()
	link, _ := emulator.LinkByName("can")
	b := newBed(link, mule(), true)
	m := newMemory()
	g := &everySecond{bench: b.Bench}
	sum := b.record(t, capture.Config{For: time.Minute, GPS: g}, m)
	n := 0
	for _, r := range m.rows {
		if v, ok := r.cells[drive.GPSSpeed]; ok {
			n++
			if math.Abs(v-r.t) > 1e-6 || len(r.cells) != 1 {
				t.Fatalf("row %+v", r)
			}
		}
	}
	if n < 50 || sum.Rates[drive.GPSSpeed] == 0 {
		t.Errorf("%d speeds of the second instrument", n)
	}
}

func (e *everySecond) Trouble() string { return "" }

// everySecond says each second that the speed in km/h is the second.
type everySecond struct {
	bench *emulator.Bench
	last  time.Duration
}

func (e *everySecond) Take() []capture.Reading {
	var out []capture.Reading
	for e.last+time.Second <= e.bench.Elapsed() {
		e.last += time.Second
		out = append(out, capture.Reading{At: start.Add(e.last), Channel: drive.GPSSpeed, V: e.last.Seconds()})
	}
	return out
}

func must(b []byte, err error) []byte {
	if err != nil {
		panic(err)
	}
	return b
}

// never is a ticker that does not tick.
func never() (<-chan time.Time, func()) { return make(chan time.Time), func() {} }

func TestFilesEndToEnd(t *testing.T) {
	link, _ := emulator.LinkByName("canmulti")
	tr := mule()
	b := newBed(link, tr, false)
	a, err := b.connect(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	info, err := a.Info(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "drive.csv")
	meta := capture.Header(start, "logger test", "Bench mule", a, info, []drive.Field{{Key: "operator", Value: "A"}})
	f, err := capture.CreateFiles(path, meta, capture.Columns(false, capture.Plans()...), never, nil)
	if err != nil {
		t.Fatal(err)
	}
	sum, err := capture.Record(t.Context(), capture.Config{Adapter: a, Clock: b, Sink: f, Created: start, For: time.Minute})
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	l, err := drive.ReadSession(file, path)
	if err != nil {
		t.Fatal(err)
	}
	if l.Rows != sum.Rows || l.Skipped != 0 || l.HeaderValue("vin") != "FLYWTNSS000MULE01" ||
		l.HeaderValue("calibration_verification") != "1A2B3C4D" || l.HeaderValue("distance_since_cleared_km") != "1630" || l.HeaderValue("operator") != "A" {
		t.Errorf("%d rows of %d, header %v", l.Rows, sum.Rows, l.Header)
	}
	if got, err := capture.SHA256(path); err != nil || got != fmt.Sprintf("%x", sha256.Sum256(must(os.ReadFile(path)))) {
		t.Errorf("%s, %v", got, err)
	}
	if _, err := capture.CreateFiles(path, meta, capture.Columns(false, capture.Plans()...), never, nil); err == nil || !strings.Contains(err.Error(), "exists") {
		t.Errorf("a recording was overwritten: %v", err)
	}
}
