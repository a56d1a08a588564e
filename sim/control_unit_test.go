package sim

import (
	"math"
	"testing"
)

// fallFrom returns the index of the highest engine speed and the first one below rpm after it.
func fallFrom(tr *Truth, rpm float64) (peak, below int) {
	for i, n := range tr.EngineRPM {
		if n > tr.EngineRPM[peak] {
			peak = i
		}
	}
	for below = peak; tr.EngineRPM[below] > rpm; below++ {
	}
	return peak, below
}

// After the foot lifts the torque decays with the throttle's time constant; a hang keeps the throttle open longer.
func TestDashpotAndRevHang(t *testing.T) {
	open := func(tau, hang float64) float64 {
		c := quiet()
		c.Engine.ThrottleTau, c.Engine.HangTime, c.Engine.HangOpening = tau, hang, 0.06
		tr := Drive(c, LevelRoad(), []Action{FreeRev(5000)}, source(1))
		for i := tr.Len() - 1; ; i-- {
			if tr.Pedal[i] > 0.5 {
				lift := i
				for tr.Throttle[i] > 2 {
					i++
				}
				return float64(i-lift) * tr.Step
			}
		}
	}
	quick := open(0.05, 0)
	if slow := open(0.2, 0); slow < quick+0.3 || slow > quick+0.8 {
		t.Errorf("throttle shut %.2f s after the foot with a dashpot, %.2f s without", slow, quick)
	}
	if hung := open(0.05, 0.5); hung < quick+0.3 || hung > quick+0.8 {
		t.Errorf("throttle shut %.2f s after the foot with a hang of 0.5 s, %.2f s without", hung, quick)
	}
}

// Above the resume speed a shut throttle means no fuel: the net torque is the drag, to the digit.
func TestFuelCut(t *testing.T) {
	c := quiet()
	tr := Drive(c, LevelRoad(), []Action{FreeRev(5000)}, source(1))
	_, i := fallFrom(tr, 3000)
	// A sample's torque belongs to the step before its speed.
	near(t, "net torque at 3000 rpm", tr.EngineTorque[i], -c.Engine.Drag(tr.EngineRPM[i]*radPerRPM), 0.001)
	_, i = fallFrom(tr, c.Engine.FuelResumeRPM-60)
	if tr.EngineTorque[i] < -c.Engine.Drag(tr.EngineRPM[i]*radPerRPM)*0.999 {
		t.Errorf("no fuel at %.0f rpm", tr.EngineRPM[i])
	}
}

// Against the limiter the engine bounces between limit and limit less hysteresis; standing, a soft limit comes first.
func TestLimiter(t *testing.T) {
	for _, soft := range []float64{0, 4200} {
		c := quiet()
		c.Engine.SoftLimitRPM = soft
		tr := Drive(c, LevelRoad(), []Action{FreeRevWith(9000, RevStyle{AtLimiter: 2})}, source(1))
		limit := c.Vehicle.Engine.LimitRPM
		if soft > 0 {
			limit = soft
		}
		peak, _ := fallFrom(tr, 3000)
		near(t, "peak", tr.EngineRPM[peak], limit, 0.03)
		turns := 0
		for i := 2; i < tr.Len(); i++ {
			a, b, n := tr.EngineRPM[i-2], tr.EngineRPM[i-1], tr.EngineRPM[i]
			if b > a && b > n && b > 0.97*limit {
				turns++
			}
		}
		if turns < 4 {
			t.Errorf("limit %.0f: %d bounces in 2 s", limit, turns)
		}
	}
}

// Cold oil drags more, by the coefficient; so a cold engine falls faster.
func TestColdOil(t *testing.T) {
	c := quiet()
	c.Engine.DragPerK = 0.004
	fall := func(oil float64) float64 {
		tr := Drive(c, LevelRoad(), []Action{Cold(oil), FreeRev(5000)}, source(1))
		_, a := fallFrom(tr, 4000)
		_, b := fallFrom(tr, 2000)
		return tr.T[b] - tr.T[a]
	}
	near(t, "warm over cold", fall(90)/fall(40), 1+0.004*50, 0.02)
}

// Boost comes late: torque at the same engine speed is lower just after the throttle opens. A gear's torque limit caps it.
func TestBoostAndTorqueLimit(t *testing.T) {
	c := quiet()
	tr := Drive(c, LevelRoad(), []Action{Pull(5, 2000, 4000)}, source(1))
	l := tr.Labels[0]
	for i := tr.At(l.StartS); ; i++ {
		if tr.Throttle[i] > 97 && tr.Gear[i] == 5 && tr.EngineRPM[i] < 2600 && tr.Pedal[i] == 100 {
			early := tr.EngineTorque[i] / c.Engine.FullLoadNm(tr.EngineRPM[i])
			late := tr.EngineTorque[i+300] / c.Engine.FullLoadNm(tr.EngineRPM[i+300])
			if early > 0.93 || late < 0.95 {
				t.Errorf("share of full load %.2f at once, %.2f after 3 s", early, late)
			}
			break
		}
	}
	c.Engine.GearLimitNm = []float64{150, 180}
	tr = Drive(c, LevelRoad(), []Action{Pull(2, 2000, 5500), Pull(3, 2000, 4500)}, source(1))
	most := map[int8]float64{}
	for i, g := range tr.Gear {
		most[g] = max(most[g], tr.EngineTorque[i])
	}
	if most[2] > 180.001 || most[2] < 170 || most[3] < 230 {
		t.Errorf("largest torque by gear: %v", most)
	}
}

// The control unit's engine speed trails the true one by its filter and half its averaging.
func TestReportedSpeedTrails(t *testing.T) {
	c := quiet()
	c.RPMFilter, c.RPMAverageDeg = 0.1, 720
	tr := Drive(c, LevelRoad(), []Action{FreeRev(5500)}, source(1))
	_, i := fallFrom(tr, 3000)
	slope := (tr.EngineRPM[i-5] - tr.EngineRPM[i+5]) / (10 * tr.Step)
	turn := 2 * 60 / 3000.0 // s for 720 degrees at 3000 rpm
	near(t, "delay", (tr.ReportedRPM[i]-tr.EngineRPM[i])/slope, 0.1+turn/2, 0.06)
}

// Mixed traffic keeps to its rates.
func TestTrafficRates(t *testing.T) {
	o := MixedTraffic()
	o.PullsPerHour, o.CoastsPerHour, o.FreeRevsPerHour, o.HardStartsPerHour = 30, 15, 15, 15
	counts := map[string]float64{}
	hours := 0.0
	for n := range uint64(2) {
		tr := Drive(BenchMule(), HillyRoad(source(n), 0.015, 300), []Action{Traffic(source(n+10), 20, o)}, source(n+20))
		hours += tr.Duration() / 3600
		for _, l := range tr.Labels {
			counts[l.Kind]++
		}
	}
	// Extras happen over the time of ordinary driving, and take time themselves.
	want := (o.PullsPerHour + o.LowPullsPerHour + o.StabsPerHour) * hours
	if got := counts["pull"]; math.Abs(got-want) > 3*math.Sqrt(want) {
		t.Errorf("%g pulls in %.1f h, asked for %g", got, hours, want)
	}
	if counts["coast"] < 3 || counts["launch"] < 3 || counts["free_rev"] < 1 {
		t.Errorf("in %.1f h: %v", hours, counts)
	}
}
