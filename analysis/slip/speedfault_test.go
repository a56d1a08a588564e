package slip_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/detect"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/slip"
	"flywitness/drive"
	"flywitness/internal/numbers"
	"flywitness/sim"
	"flywitness/vehicle"
)

// A road speed that stands still for a moment, or drops, while the engine pulls on is a fault of its sensor,
// not of the clutch, however often it comes. The alarm must not fall for it either: it sees no future, so it
// stays silent where road speed stands still.
func TestFaultyRoadSpeedIsNoSlip(t *testing.T) {
	numbers.Only(t)
	faults := []struct {
		name  string
		make  func(v, first float64) float64
		alarm bool
	}{
		{"stands still", func(_, first float64) float64 { return first }, false},
		{"drops by a fifth", func(v, _ float64) float64 { return math.Floor(0.8 * v) }, true},
		{"drops to nothing", func(float64, float64) float64 { return 0 }, false},
	}
	truth := sim.Drive(weak(1.5), sim.LevelRoad(), pulls(4), rand.New(rand.NewPCG(4, 0)))
	for _, link := range []sim.Link{sim.KLine, sim.CANSequential, sim.CANMulti} {
		for _, fault := range faults {
			for _, lasting := range []float64{1.5, 2.5} {
				l := sim.NewLogger(link).Record(truth, rand.New(rand.NewPCG(4, uint64(link))))
				for _, p := range truth.Labelled("pull") {
					spoil(l.Channel(drive.VehicleSpeed), (p.StartS+p.EndS)/2, lasting, fault.make)
				}
				cal, f, _ := judgedLog(l, weak(1.5).Vehicle, slip.Options{})
				if f.Verdict == slip.Slips {
					t.Errorf("%v, road speed %s for %.1f s in four pulls: %s, %s", link, fault.name, lasting, f.Verdict, f.Reason)
				}
				if n := len(alarmed(l, cal)); n > 0 && !fault.alarm {
					t.Errorf("%v, road speed %s for %.1f s in four pulls: %d alarms", link, fault.name, lasting, n)
				}
			}
		}
	}
}

// A speed whose scale ends stands while the engine pulls on, which is no slip; what the clutch does below shows all the
// same.
func TestSpeedThatEndsIsNoSlip(t *testing.T) {
	numbers.Only(t)
	for _, link := range []sim.Link{sim.KLine, sim.CANMulti} {
		for hold, want := range map[float64]slip.Verdict{1.5: slip.Holds, 0.8: slip.Slips} {
			truth := sim.Drive(weak(hold), sim.LevelRoad(), pulls(4), rand.New(rand.NewPCG(4, 0)))
			for _, ends := range []float64{70, 80, 110, 120} {
				l := sim.NewLogger(link).Record(truth, rand.New(rand.NewPCG(4, uint64(link))))
				speed := l.Channel(drive.VehicleSpeed)
				for i, v := range speed.V {
					speed.V[i] = math.Min(v, ends)
				}
				if _, f, _ := judgedLog(l, weak(1.5).Vehicle, slip.Options{}); f.Verdict != want {
					t.Errorf("%v, ends at %.0f km/h, a clutch of %.1f: %s, %s", link, ends, hold, f.Verdict, f.Reason)
				}
			}
		}
	}
}

// spoil changes the values over some seconds.
func spoil(c *drive.Channel, from, lasting float64, fault func(v, first float64) float64) {
	first := -1
	for i, t := range c.T {
		if t >= from && t < from+lasting {
			if first < 0 {
				first = i
			}
			c.V[i] = fault(c.V[i], c.V[first])
		}
	}
}

// alarmed drives a log through the live decoder and the alarm.
func alarmed(l *drive.Log, cal *calibrate.Calibration) []detect.Alert {
	track := cal.Decode(l)
	m := track.Model
	d, a := gearstate.NewDecoder(m), detect.NewAlarm(m, detect.Learn(track, vehicle.Manual))
	var out []detect.Alert
	take := func(states []gearstate.State) {
		for _, s := range states {
			if w, ok := a.Push(s); ok {
				out = append(out, w)
			}
		}
	}
	push := []struct {
		c *drive.Channel
		f func(t, v float64) []gearstate.State
		i int
	}{{c: l.Channel(m.Load.Channel), f: d.PushLoad}, {c: l.Channel(drive.EngineSpeed), f: d.PushRPM},
		{c: l.Channel(m.SpeedChannel), f: d.PushSpeed}}
	for {
		first := -1
		for q := range push {
			p := &push[q]
			if p.c != nil && p.i < p.c.Len() && (first < 0 || p.c.T[p.i] < push[first].c.T[push[first].i]) {
				first = q
			}
		}
		if first < 0 {
			return out
		}
		p := &push[first]
		take(p.f(p.c.T[p.i], p.c.V[p.i]))
		p.i++
	}
}
