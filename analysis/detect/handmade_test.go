package detect

import (
	"math"
	"testing"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
	"flywitness/vehicle"
)

// ladder is the gearing of the hand-made car, rpm per km/h. Neighbours stand 1.71, 1.52 and 1.35 apart.
var ladder = []float64{120, 70, 46, 34}

// handmade is a drive that is written down sample by sample: no noise, and engine speed, road speed and labels as
// the test says.
type handmade struct {
	dry bool // the road is told to be dry
	gearstate.Track
	now, v float64
}

// leg is a stretch of a hand-made drive. The clutch is locked unless it slips or has no gear.
type leg struct {
	s, a   float64                 // s; km/h/s
	gear   int                     // 0: none
	load   float64                 // fraction, NaN where it is not known
	slip   func(u float64) float64 // fraction of engine speed u s into the leg; nil: none
	rpm    float64                 // where no gear is in
	clutch gearstate.Clutch        // where it is not what the rest says
}

// at begins a drive at v km/h on a link with a value every period s.
func at(v, period float64) *handmade {
	h := &handmade{v: v}
	h.Model = gearstate.Model{Period: period, Step: 0.1, Idle: 800, DrivenNats: 3,
		Load: gearstate.LoadScale{Channel: "load", Full: 1}}
	for i, k := range ladder {
		h.Model.Gears = append(h.Model.Gears, gearstate.Gearing{Number: i + 1, K: k, SD: 0.001 * k})
	}
	return h
}

// drive adds legs.
func (h *handmade) drive(legs ...leg) *handmade {
	for _, l := range legs {
		n := int(math.Round(l.s / h.Model.Period))
		for i := range n {
			h.add(l, float64(i)*h.Model.Period)
		}
	}
	return h
}

func (h *handmade) add(l leg, u float64) {
	s := gearstate.State{}
	s.T, s.V, s.A, s.Load, s.Gear, s.Clutch = h.now, h.v, l.a, l.load, l.gear, gearstate.Locked
	s.N, s.Excess = l.rpm, math.NaN()
	if l.gear == 0 {
		s.Clutch = gearstate.Open
	} else {
		x := 0.0
		if l.slip != nil {
			x = l.slip(u)
		}
		if x > 0.01 {
			s.Clutch = gearstate.Slipping
		}
		s.Excess = h.v * x / (1 - x)
		s.N = (h.v + s.Excess) * ladder[l.gear-1]
	}
	if l.clutch != gearstate.Unknown {
		s.Clutch = l.clutch
	}
	if n := h.Len(); n > 0 {
		s.NDot = (s.N - h.RPM[n-1]) / (s.T - h.T[n-1])
	}
	h.Append(s)
	h.now += h.Model.Period
	h.v += l.a * h.Model.Period
}

// pause lets time pass without a sample; the car keeps its speed.
func (h *handmade) pause(s float64) *handmade {
	h.now += s
	return h
}

// record is the motion of the drive with nothing found in it yet.
func (h *handmade) record() *Record {
	return &Record{Record: motion.New(0, &h.Track), told: Told{DryRoad: h.dry}, Spread: 1, PullSpread: 1}
}

// found is the drive with what Find finds in it.
func (h *handmade) found(f *motion.Force) *Record {
	return Find([]*motion.Record{motion.New(0, &h.Track)}, f, Told{DryRoad: h.dry})[0]
}

// only is the one departure of a record.
func (r *Record) only(t *testing.T) *Departure {
	t.Helper()
	var all []*Departure
	r.each(func(c *Departure) { all = append(all, c) })
	if len(all) != 1 {
		t.Fatalf("%d departures, want one", len(all))
	}
	return all[0]
}

// push makes the car move as a wheel force over weight at sample i would have it.
func (r *Record) push(i int, force float64) {
	r.State(i).A += (force - r.Phi(i)) * 3.6 * vehicle.Gravity
}

// quick and slow are records of no drive, on links with a value every 0.05 and every 0.4 s.
func quick() *Record { return at(60, 0.05).drive(leg{s: 1, gear: 3}).record() }
func slow() *Record  { return at(60, 0.4).drive(leg{s: 4, gear: 3}).record() }

func noForce() *motion.Force { return motion.NewForce(nil, false) }

// constant is slip of one size.
func constant(x float64) func(float64) float64 { return func(float64) float64 { return x } }

// hump is slip that rises to a top within a rise and falls within it at the end of a time, all s.
func hump(top, rise, whole float64) func(float64) float64 {
	return func(u float64) float64 { return top * math.Max(0, math.Min(1, math.Min(u, whole-u)/rise)) }
}

var nan = math.NaN()

func near(t *testing.T, what string, got, want, by float64) {
	t.Helper()
	if !(math.Abs(got-want) <= by) {
		t.Errorf("%s: %.5g, by hand %.5g", what, got, want)
	}
}

// handCar is a car whose torque is reckoned easily: no road load worth naming, arm 0.1 m in third.
func handCar() *vehicle.Vehicle {
	v := &vehicle.Vehicle{Mass: 1000, MassSD: 1, RoadLoad: &vehicle.RoadLoad{F0: 0.001}}
	v.Gearbox = vehicle.Gearbox{Ratios: []float64{120. / 46, 70. / 46, 1, 34. / 46}, FinalDrive: 3, Efficiency: 1}
	v.RollingCircumference = 2 * math.Pi * 0.3
	return v
}
