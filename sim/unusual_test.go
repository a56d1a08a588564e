package sim

import (
	"math"
	"testing"
)

// Brush model: slip at small force is that of the linear tyre, three times as much per force where all of the
// contact slides; in between force over grip is 1 - (1 - s)^3.
func TestBrushTyre(t *testing.T) {
	c := quiet()
	c.Tyre.Brush = true
	road := LevelRoad()
	p := newPlant(&c, &road)
	for _, f := range []float64{0.001, 0.3, 0.6, 0.9, 1} {
		p.pull = f * p.grip()
		s := p.softening() * f / 3 // slip over that of full sliding
		near(t, "force over grip", 1-math.Pow(1-s, 3), f, 1e-6)
	}
	p.pull = 1e-4 * p.grip()
	near(t, "softening at small force", p.softening(), 1, 1e-3)
}

// A steady pull holds the creep that the formula says; acceleration moves weight to the rear.
func TestCreepAndLoadTransfer(t *testing.T) {
	c := quiet()
	c.Tyre.Brush, c.Tyre.Transfer = true, 0.2
	road := LevelRoad()
	p := newPlant(&c, &road)
	p.accel = 3
	near(t, "grip with 3 m/s^2", p.grip(), road.Mu*(c.Tyre.LoadShare+0.2*3/gravity)*c.Vehicle.Mass*gravity, 1e-9)
	c.Tyre.Transfer = 0
	d := &run{plant: newPlant(&c, &road), rng: source(1), ease: 1, tr: &Truth{Step: tick, car: c}}
	d.act(Action{Kind: "pull", do: func(d *run) { d.pullUp(3, 2500, 4000, PullStyle{}); d.foot = 1; d.hold(0.6) }})
	f := d.pull / d.grip()
	want := c.Tyre.Creep * d.pull / (d.mass * gravity) * 3 * (1 - math.Cbrt(1-f)) / f
	near(t, "creep", d.creep, want, 0.05)
}

// Traction control keeps wheelspin small where a driver who keeps his foot down does not.
func TestTractionControl(t *testing.T) {
	spin := func(on bool) (most float64) {
		c := quiet()
		c.TractionControl, c.Driver.KeepsFoot = on, true
		road := LevelRoad()
		road.Mu = 0.35
		tr := Drive(c, road, []Action{Launch(HardLaunch), PullWith(2, 2200, 5500, PullStyle{UpTo: 3})}, source(1))
		for i := range tr.T {
			if tr.GroundKmh[i] > 25 {
				most = max(most, tr.WheelKmh[i]/tr.GroundKmh[i]-1)
			}
		}
		return most
	}
	if with, without := spin(true), spin(false); with > 0.4*without || without < 0.2 {
		t.Errorf("wheelspin %.2f with, %.2f without", with, without)
	}
}

// A lining that shears a film slips in proportion to its torque, and never locks.
func TestFilm(t *testing.T) {
	c := quiet()
	c.Clutch.CreepPerNm = 0.08
	tr := Drive(c, LevelRoad(), []Action{Pull(3, 2000, 5000)}, source(1))
	l := tr.Labelled("pull")[0]
	n := 0
	for i := tr.At(l.EndS - 3); i < tr.At(l.EndS-0.6); i++ {
		if tr.Pedal[i] < 99 || tr.ClutchTorqueNm[i] < 100 {
			continue
		}
		near(t, "slip in rad/s per N m", tr.EngineRPM[i]*tr.SlipPct[i]/100*radPerRPM/tr.ClutchTorqueNm[i], 0.08, 0.1)
		n++
	}
	if n < 100 {
		t.Errorf("%d samples", n)
	}
}

// Fingers that lose clamp load let go at high engine speed alone: in third the slip begins above the speed from
// which they do.
func TestWeakFingers(t *testing.T) {
	c := quiet()
	c.Clutch.Capacity, c.Clutch.WeakFromRPM, c.Clutch.WeakPerKRPM = 290, 3200, 0.25
	tr := Drive(c, LevelRoad(), []Action{Pull(3, 1800, 5500)}, source(1))
	if len(tr.Events) == 0 {
		t.Fatal("no slip")
	}
	for _, e := range tr.Events {
		if rpm := tr.EngineRPM[tr.At(e.StartS)]; rpm < 3200 {
			t.Errorf("slip begins at %.0f rpm", rpm)
		}
	}
}

// A coasting car obeys M dv/dt = -(F0 + F1 v + F2 v^2 + F3 v^3): the time between two speeds is the integral.
func TestCubicDrag(t *testing.T) {
	c := quiet()
	c.CubicDrag = 0.01
	tr := Drive(c, LevelRoad(), []Action{Coast(110, 40)}, source(1))
	r := *c.Vehicle.RoadLoad
	mass := c.Vehicle.Mass + c.RotatingMass()
	want := 0.0
	for v := 50 / 3.6; v < 100/3.6; v += 0.001 {
		want += 0.001 * mass / (r.Force(v) + 0.01*v*v*v)
	}
	cross := func(kmh float64) float64 {
		for i := tr.Len() - 1; ; i-- {
			if tr.GroundKmh[i] > kmh {
				return tr.T[i]
			}
		}
	}
	near(t, "time from 100 to 50 km/h", cross(50)-cross(100), want, 0.003)
}

// Gusts have the spread that is asked for, a lining that grabs too; cold drag is gone after some kilometres.
func TestShakeAndCold(t *testing.T) {
	c := quiet()
	c.Clutch.GrabSD, c.ColdDrag = 0.1, 0.5
	road := LevelRoad()
	road.GustSD = 5
	d := &run{plant: newPlant(&c, &road), rng: source(2), ease: 1, tr: &Truth{Step: tick, car: c}}
	near(t, "cold drag", d.unusual(), 0.5*c.Vehicle.RoadLoad.F0, 1e-9)
	d.x = 6 * coldRoad
	if f := d.unusual(); f > 0.01*c.Vehicle.RoadLoad.F0 {
		t.Errorf("%.1f N of cold drag after %.0f km", f, d.x/1000)
	}
	var gust, grab float64
	n := 200000
	for range n {
		d.shake(tick)
		gust += d.gust * d.gust
		grab += d.capacityNoise * d.capacityNoise
	}
	near(t, "gusts in m/s", math.Sqrt(gust/float64(n)), 5, 0.15)
	near(t, "grab", math.Sqrt(grab/float64(n)), 0.1, 0.05)
}
