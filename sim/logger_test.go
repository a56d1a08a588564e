package sim

import (
	"math"
	"reflect"
	"sort"
	"testing"

	"flywitness/drive"
)

func mixed(n uint64, minutes float64) *Truth {
	return Drive(BenchMule(), HillyRoad(source(n), 0.015, 300), []Action{Traffic(source(n+1), minutes, MixedTraffic())}, source(n+2))
}

// The same random numbers give the same drive and the same log; others give another.
func TestRepeatable(t *testing.T) {
	a, b, c := mixed(5, 2), mixed(5, 2), mixed(6, 2)
	if !reflect.DeepEqual(a, b) {
		t.Error("two drives from the same random numbers differ")
	}
	if reflect.DeepEqual(a.EngineRPM, c.EngineRPM) {
		t.Error("other random numbers gave the same drive")
	}
	plan := []Action{Traffic(source(1), 2, MixedTraffic())}
	if !reflect.DeepEqual(Drive(BenchMule(), LevelRoad(), plan, source(2)), Drive(BenchMule(), LevelRoad(), plan, source(2))) {
		t.Error("a plan driven twice gives two drives")
	}
	lg := RandomLogger(CANSequential, source(9))
	if !reflect.DeepEqual(lg.Record(a, source(3)), lg.Record(a, source(3))) {
		t.Error("two recordings from the same random numbers differ")
	}
}

// Each link gives its rate, and the stamps are off by the jitter that was asked for.
func TestLinkRates(t *testing.T) {
	tr := mixed(1, 6)
	for _, link := range []Link{KLine, CANSequential, CANMulti} {
		lg := NewLogger(link)
		l := lg.Record(tr, source(2))
		for _, name := range []string{drive.EngineSpeed, drive.VehicleSpeed} {
			c := l.Channel(name)
			near(t, link.String()+" "+name, float64(c.Len())/tr.Duration(), link.RateHz(), 0.08)
			if !sort.Float64sAreSorted(c.T) && link == KLine {
				t.Errorf("%s: stamps of %s are out of order at 400 ms apart", link, name)
			}
		}
		n, v := l.Channel(drive.EngineSpeed), l.Channel(drive.VehicleSpeed)
		if together := n.T[100] == v.T[100]; together != (link == CANMulti) {
			t.Errorf("%s: engine and road speed share a stamp: %v", link, together)
		}
		if l.Channel(drive.CoolantTemp).Len() > n.Len()/20 {
			t.Errorf("%s: the coolant is polled too often", link)
		}
	}
}

// With the engine running up steadily, stamp error is speed error over slope.
func TestJitter(t *testing.T) {
	c := quiet()
	c.RPMFilter, c.RPMAverageDeg = 0, 0
	tr := Drive(c, LevelRoad(), []Action{Overrun(3, 5000, 1500), Overrun(3, 5000, 1500), Overrun(3, 5000, 1500)}, source(1))
	for _, sd := range []float64{0.01, 0.04} {
		lg := NewLogger(CANSequential)
		lg.Jitter = sd
		ch := lg.Record(tr, source(3)).Channel(drive.EngineSpeed)
		var sum, n float64
		for i, at := range ch.T {
			k := tr.At(at)
			if k < 20 || k > tr.Len()-20 {
				continue
			}
			slope := (tr.EngineRPM[k+8] - tr.EngineRPM[k-8]) / (16 * tr.Step)
			if math.Abs(slope) < 200 || tr.Clutch[k] != Stuck || tr.Gear[k-8] != 3 || tr.Gear[k+8] != 3 {
				continue
			}
			truth := tr.EngineRPM[k] + (at-tr.T[k])/tr.Step*(tr.EngineRPM[k+1]-tr.EngineRPM[k])
			e := (ch.V[i] - truth) / slope
			if math.Abs(e) < 5*sd {
				sum += e * e
				n++
			}
		}
		if n < 60 {
			t.Fatalf("%g samples on slopes", n)
		}
		near(t, "stamp error", math.Sqrt(sum/n), sd, 0.25)
	}
}

// The displayed speed trails the true one by lag plus filter, in whole steps, cut or rounded.
func TestSpeedChannel(t *testing.T) {
	c := quiet()
	tr := Drive(c, LevelRoad(), []Action{Coast(120, 30)}, source(1))
	for _, how := range []Rounding{Round, Floor} {
		lg := NewLogger(CANMulti)
		lg.SpeedLag, lg.SpeedFilter, lg.Rounding, lg.Jitter = 0.3, 0.1, how, 0
		ch := lg.Record(tr, source(3)).Channel(drive.VehicleSpeed)
		var offset, n, lateness float64
		for i, at := range ch.T {
			if ch.V[i] != math.Trunc(ch.V[i]) {
				t.Fatalf("speed %g", ch.V[i])
			}
			k := tr.At(at)
			if at < tr.Duration()-60 || k < 50 {
				continue
			}
			back := tr.WheelKmh[k-40] // 0.4 s before
			slope := (tr.WheelKmh[k] - tr.WheelKmh[k-40]) / 0.4
			offset += ch.V[i] - back
			lateness += slope
			n++
		}
		want := map[Rounding]float64{Round: 0, Floor: -0.5}[how]
		if math.Abs(offset/n-want) > 0.03 {
			t.Errorf("rounding %v: mean offset %.3f km/h, want %.1f", how, offset/n, want)
		}
		if lateness/n > -0.5 {
			t.Fatalf("the car hardly slowed: %.2f km/h/s", lateness/n)
		}
	}
}

// Old recorders: whole seconds, held rows.
func TestOldRecorder(t *testing.T) {
	tr := mixed(3, 3)
	lg := NewLogger(CANSequential)
	lg.WholeSecondStamps = true
	l := lg.Record(tr, source(1))
	if l.StampStep != 1 {
		t.Error("whole-second stamps are not declared")
	}
	if c := l.Channel(drive.EngineSpeed); !sort.Float64sAreSorted(c.T) || c.T[5] == c.T[6] {
		t.Error("stamps are not spread inside their second")
	}
	lg.HeldRows = true
	held := lg.Record(tr, source(1))
	n, v := held.Channel(drive.EngineSpeed), held.Channel(drive.VehicleSpeed)
	if n.Len() < 3*l.Channel(drive.EngineSpeed).Len() || n.Len()-v.Len() > 4 {
		t.Errorf("held rows: %d engine speeds, %d road speeds from %d fresh", n.Len(), v.Len(), l.Channel(drive.EngineSpeed).Len())
	}
}

// Gaps and late stamps come as often as asked for.
func TestGapsAndLateStamps(t *testing.T) {
	tr := mixed(4, 15)
	lg := NewLogger(CANMulti)
	lg.GapsPerHour, lg.GapMax, lg.LateShare, lg.LateSDs = 120, 5, 0.06, 6
	ch := lg.Record(tr, source(1)).Channel(drive.EngineSpeed)
	gaps := 0
	for i := 1; i < ch.Len(); i++ {
		if ch.T[i]-ch.T[i-1] > 0.45 {
			gaps++
		}
	}
	if gaps < 18 || gaps > 45 {
		t.Errorf("%d gaps in a quarter of an hour, asked for 30", gaps)
	}
}

// Injected slip is of the size asked for and leaves the road speed alone.
func TestInjectSlip(t *testing.T) {
	tr := Drive(quiet(), LevelRoad(), []Action{Pull(4, 2000, 5000)}, source(1))
	at := tr.Labels[0].EndS - 6
	was, kmh := tr.EngineRPM[tr.At(at+1)], tr.GroundKmh[tr.At(at+1)]
	tr.InjectSlip(at, 2, 3)
	near(t, "engine speed", tr.EngineRPM[tr.At(at+1)], was/0.97, 1e-9)
	near(t, "road speed", tr.GroundKmh[tr.At(at+1)], kmh, 0)
	if len(tr.Events) != 1 || !tr.Events[0].Injected {
		t.Fatalf("events %+v", tr.Events)
	}
	e := tr.Events[0]
	near(t, "peak", e.PeakPct, 3, 1e-9)
	near(t, "start", e.StartS, at+0.1, 0.001)
	near(t, "end", e.EndS, at+1.9, 0.001)
}

func BenchmarkDriveHour(b *testing.B) {
	for b.Loop() {
		mixed(1, 60)
	}
}

func BenchmarkRecordHour(b *testing.B) {
	tr := mixed(1, 60)
	lg := RandomLogger(CANMulti, source(2))
	for b.Loop() {
		lg.Record(tr, source(3))
	}
}
