package torquecurve

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/drive"
	"flywitness/vehicle"
)

func handCar() *Car {
	return &Car{Mass: 1200, Rotating: 40, Gearing: []float64{0, 46, 26, 18, 13.5}, Efficiency: 0.95,
		Load: vehicle.RoadLoad{F0: 130, F2: 0.4}, Inertia: [2]float64{0.22, 0.17}}
}

// Newton by hand (Gillespie, Fundamentals of Vehicle Dynamics, ch. 2, from memory: the force at the tyres is
// what is left of the engine's torque after the engine's own inertia, times ratio and efficiency). Third gear,
// k = 18 rad/s per m/s, 3437.747 rpm = 360 rad/s is 20 m/s, 36 rad/s^2 is 2 m/s^2, uphill 1 %: 1240 * 2 + 130 +
// 0.4 * 400 + 1200 * 9.80665 * 0.01 = 2887.68 N; over 18 * 0.95 are 168.870 N m; 0.22 * 36 = 7.92 N m more turn
// the engine.
func TestTorqueByHand(t *testing.T) {
	p := Point{Gear: 3, RPM: 360 * 30 / math.Pi, Alpha: 36, Slope: 0.01}
	if got := p.torque(handCar()); math.Abs(got-176.7902) > 1e-3 {
		t.Errorf("torque %.4f N m, by hand 176.7902", got)
	}
	p.Side = 1
	if got := p.torque(handCar()); math.Abs(got-(176.7902-0.05*36)) > 1e-3 {
		t.Errorf("with the lighter flywheel %.4f N m", got)
	}
}

// The same torque in first gear, by hand: k = 46, 360 rad/s is 7.826 m/s. (0.95 * 46 * 180 - 130 - 0.4 *
// 61.248) / (1240 + 0.95 * 46^2 * 0.17) = 7711.5 / 1581.734.
func TestAccelerationByHand(t *testing.T) {
	if got := handCar().Full(1, 360, 180, 0.17); math.Abs(got-4.8754) > 1e-3 {
		t.Errorf("%.4f m/s^2, by hand 4.8754", got)
	}
	// Gradeability: what accelerates on the level holds on a slope of a (M + wheels + engine) / (M g), since in
	// both the force at the tyres is the same.
	c := handCar()
	held := c.Force(1, 360, 180) / (c.Mass * vehicle.Gravity)
	if got := c.Full(1, 360, 180, 0.17) * (1240 +
		0.95*46*46*0.17) / (1200 * vehicle.Gravity); math.Abs(got-held) > 1e-12 || math.Abs(held-0.6553) > 1e-3 {
		t.Errorf("holds on a slope of %.4f, by hand 0.6553", held)
	}
}

// pulls makes points of an engine with a known curve in several gears, each pull with a slope that nobody knows.
func pulls(truth func(rpm float64) float64, c *Car, slopeSD float64, rng *rand.Rand) []Point {
	var out []Point
	for pull, gear := range []int{2, 3, 4, 3, 4} {
		slope := slopeSD * rng.NormFloat64()
		for rpm := 2000.0; rpm < 6000; rpm += 150 {
			p := Point{Pull: pull, Side: pull % 2, Gear: gear, RPM: rpm, AlphaSD: 0, SlopeSD: math.Sqrt2 * slopeSD}
			// alpha from the balance turned round
			k := c.Gearing[gear]
			w := rpm * math.Pi / 30
			force := c.Efficiency*k*truth(rpm) - c.Load.Force(w/k) - c.Mass*vehicle.Gravity*slope
			alpha := k * force / (c.moved() + c.Efficiency*k*k*c.Inertia[p.Side])
			p.AlphaSD = 0.02 * alpha
			p.Alpha = alpha * (1 + 0.02*rng.NormFloat64())
			out = append(out, p)
		}
	}
	return out
}

// A known curve comes back from pulls in other gears than first, with errors as stated.
func TestCurveIsFoundWithItsBand(t *testing.T) {
	truth := func(rpm float64) float64 { return 150 + 60*math.Sin((rpm-1200)/1500) }
	c := handCar()
	var inside, n, worst float64
	for seed := range uint64(40) {
		points := pulls(truth, c, 0.004, rand.New(rand.NewPCG(seed, 1)))
		curve := Fit(points, c)
		if curve == nil {
			t.Fatal("no curve")
		}
		got := curve.Of(c)
		for i, rpm := range curve.knots {
			e, sd := got.Nm[i]-truth(rpm), math.Sqrt(curve.cov.At(i, i))
			worst = math.Max(worst, math.Abs(e)/truth(rpm))
			if n++; math.Abs(e) < 1.96*sd {
				inside++
			}
		}
	}
	if share := inside / n; share < 0.9 {
		t.Errorf("%.2f of the knots lie within two of their standard deviations", share)
	}
	if worst > 0.08 {
		t.Errorf("worst knot off by %.1f %%", 100*worst)
	}
}

// The fit is linear: a car that is 1 % heavier needs 1 % more of what moves the car, nothing of what moves the engine.
func TestCurveOfAnotherCar(t *testing.T) {
	c := handCar()
	curve := Fit(pulls(func(float64) float64 { return 180 }, c, 0, rand.New(rand.NewPCG(1, 1))), c)
	heavy := *c
	heavy.Mass, heavy.Rotating = 1.01*c.Mass, 1.01*c.Rotating
	a, b := curve.Of(c).At(4000), curve.Of(&heavy).At(4000)
	if gain := b/a - 1; gain < 0.004 || gain > 0.0099 {
		t.Errorf("1 %% of mass is %.2f %% of torque", 100*gain)
	}
}

func TestTooLittleGivesNoCurve(t *testing.T) {
	c := handCar()
	points := pulls(func(float64) float64 { return 180 }, c, 0, rand.New(rand.NewPCG(1, 1)))
	var narrow []Point
	for _, p := range points {
		if p.RPM < 2700 {
			narrow = append(narrow, p)
		}
	}
	for name, some := range map[string][]Point{"nothing": nil, "five points": points[:5], "a narrow band": narrow} {
		if Fit(some, c) != nil {
			t.Errorf("%s: a curve", name)
		}
	}
}

// Where no channel tells full load the strongest pulls stand in; half load is left out.
func TestStrongestWhereNothingTellsFullLoad(t *testing.T) {
	c := handCar()
	rng := rand.New(rand.NewPCG(2, 1))
	points := append(pulls(func(float64) float64 { return 180 }, c, 0, rng),
		pulls(func(float64) float64 { return 100 }, c, 0, rng)...)
	kept := strongest(points, c)
	if n := len(points) / 2; len(kept) < n*8/10 || len(kept) > n {
		t.Errorf("%d of %d strong points kept", len(kept), n)
	}
}

func TestFullLoadIsToldByTheBestChannel(t *testing.T) {
	channel := func(name string, top float64) *drive.Channel {
		ch := &drive.Channel{Name: name}
		for i := range 100 {
			v := 15.0
			if i >= 50 {
				v = top
			}
			ch.T, ch.V = append(ch.T, float64(i)/5), append(ch.V, v)
		}
		return ch
	}
	// a load that idles at 40 % moves by half as much as a throttle; one that stands near its top tells nothing
	for rests, want := range map[float64]bool{40: true, 80: false} {
		load := channel(drive.EngineLoad, 92)
		for i := range 50 {
			load.V[i] = rests
		}
		if f := footOf(&drive.Log{Channels: []*drive.Channel{load}}, nil); (f != nil) != want {
			t.Errorf("a load from %.0f to 92 %%: told %v", rests, f != nil)
		}
	}
	log := &drive.Log{Channels: []*drive.Channel{channel(drive.Throttle, 88)}}
	f := footOf(log, nil)
	if f == nil || f.open(5) || !f.open(15) || f.settling() != settledFoot {
		t.Errorf("throttle: %+v", f)
	}
	if footOf(log, &vehicle.Vehicle{Engine: vehicle.Engine{Fuel: "diesel"}}) != nil {
		t.Error("a diesel's throttle tells full load")
	}
	if footOf(&drive.Log{Channels: []*drive.Channel{channel(drive.Pedal, 50)}}, nil) != nil {
		t.Error("half a pedal is full load")
	}
	log.Channels = append(log.Channels, channel(drive.EngineLoad, 98))
	if f := footOf(log, nil); f == nil || f.settling() != settled {
		t.Error("load does not come before throttle")
	}
}
