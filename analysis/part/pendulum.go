package part

import (
	"fmt"
	"math"

	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

// Rig is a platform (or nothing but the threads) hung on equal vertical threads and turning about its vertical axis.
type Rig struct {
	Radius       float64 // m, of the circle on which the threads are tied; for two threads half their distance
	RadiusSD     float64
	Length       float64 // m, of a thread
	LengthSD     float64
	PlatformMass float64 // kg, 0 without a platform
	Platform     Timing  // of the empty platform; not given without one
	MassSD       float64 // kg, of each mass
	Amplitude    float64 // rad, how far it was swung to each side; 0 for small swings
}

// Timing is a repeated stopwatch reading of the same number of swings to and fro.
type Timing struct {
	Times  []float64 // s, each for all the swings
	Swings int
}

// Hung is a part as it was swung.
type Hung struct {
	Name string
	Mass float64 // kg
	Timing
}

// Defaults of a bench made for the day: what a steel rule, kitchen scales and a thumb on a stopwatch do. Common
// practice, no source.
const (
	DefaultRadiusSD = 0.001 // m
	DefaultLengthSD = 0.003 // m
	DefaultMassSD   = 0.02  // kg
	thumbSD         = 0.15  // s, of one reading when fewer than three show their own scatter
	stopwatchStep   = 0.01  // s
	fastest         = 0.2   // s for a swing; nobody counts faster, so it is the time of one swing taken for that of all
)

// gravity is the free fall in m/s^2: the standard value, with a standard deviation that covers the latitudes of the
// globe (9.780 to 9.832).
var gravity = Input{Name: "gravity", Value: vehicle.Gravity, SD: 0.013}

// What a rig in a workshop is, and what was typed wrong.
const (
	leastRadius, mostRadius = 0.01, 1.0   // m, of the threads
	leastLength, mostLength = 0.1, 10.0   // m, of the threads
	mostAmplitude           = math.Pi / 6 // rad; beyond, the series of the swing no longer holds
	mostSwings              = 10000
	slowestSwing            = 30.0  // s
	timesApart              = 0.1   // relative spread of timings beyond which one of them was miscounted
	ownSpread               = 3     // timings that show their own spread
	mostMass                = 200.0 // kg, of a part
)

func (r Rig) check() error {
	switch {
	case !finite(r.Radius, r.RadiusSD, r.Length, r.LengthSD, r.PlatformMass, r.MassSD, r.Amplitude):
		return fmt.Errorf("rig: not a finite number")
	case r.Radius < leastRadius || r.Radius > mostRadius:
		return fmt.Errorf("rig: the threads are tied at a radius of %s mm; it must lie between 10 and 1000 mm",
			vehicle.Plain(r.Radius*1000, 4))
	case r.Length < leastLength || r.Length > mostLength:
		return fmt.Errorf("rig: the threads are %s mm long; they must be between 100 and 10000 mm",
			vehicle.Plain(r.Length*1000, 4))
	case r.RadiusSD < 0 || r.RadiusSD > r.Radius/2 || r.LengthSD < 0 || r.LengthSD > r.Length/2 || r.MassSD < 0:
		return fmt.Errorf("rig: a standard deviation must not be negative, nor half of what it belongs to")
	case r.PlatformMass < 0 || r.PlatformMass > 100:
		return fmt.Errorf("rig: the platform weighs %s kg; it must lie between 0 and 100 kg",
			vehicle.Plain(r.PlatformMass, 4))
	case r.PlatformMass > 0 && len(r.Platform.Times) == 0:
		return fmt.Errorf("rig: a platform needs its own times, swung empty")
	case r.PlatformMass == 0 && len(r.Platform.Times) > 0:
		return fmt.Errorf("rig: the platform was timed but has no mass")
	case r.Amplitude < 0 || r.Amplitude > mostAmplitude:
		return fmt.Errorf("rig: a swing of %.0f degrees to each side is too wide; keep it below 30, better below 5",
			r.Amplitude*180/math.Pi)
	case r.PlatformMass > 0:
		return r.Platform.check("platform")
	}
	return nil
}

func (t Timing) check(of string) error {
	if t.Swings < 1 || t.Swings > mostSwings {
		return fmt.Errorf("%s: %d swings were counted; it must be 1 or more, better 20", of, t.Swings)
	}
	if len(t.Times) == 0 {
		return fmt.Errorf("%s: no times given", of)
	}
	for _, x := range t.Times {
		if !finite(x) || x <= 0 || x/float64(t.Swings) < fastest || x/float64(t.Swings) > slowestSwing {
			return fmt.Errorf("%s: %s s for %d swings cannot be; give the time of all swings in seconds", of,
				vehicle.Plain(x, 4), t.Swings)
		}
	}
	s := stats.Summarise(t.Times)
	if len(t.Times) > 1 && s.SD > timesApart*s.Mean {
		return fmt.Errorf("%s: the times differ by far more than a thumb does; was a swing miscounted?", of)
	}
	return nil
}

// period returns the period of one swing in s. The scatter of three or more readings is their own (never below
// the step of a stopwatch); fewer are given what a thumb does.
func (t Timing) period(of string) Input {
	s := stats.Summarise(t.Times)
	n := float64(len(t.Times))
	in := Input{Name: "times of " + of, Value: s.Mean / float64(t.Swings)}
	sd := thumbSD
	if len(t.Times) >= ownSpread {
		sd, in.DF = math.Max(s.SD, stopwatchStep), n-1
	}
	in.SD = sd / math.Sqrt(n) / float64(t.Swings)
	return in
}

// widening returns the period of a swing to amplitude a (rad) over that of a small one: the potential energy of equal
// threads, m g (L - sqrt(L^2 - 2 R^2 (1 - cos a))), taken to the fourth order.
func (r Rig) widening() float64 {
	a2 := r.Amplitude * r.Amplitude
	return 1 + a2/16 - 3.0/16*math.Pow(r.Radius/r.Length, 2)*a2
}

// inertia is J = g R^2 / (4 pi^2 L) ((m + mp) T^2 - mp Tp^2), the trifilar pendulum with the platform's own
// inertia taken off (textbook, from memory). Two threads at distance d = 2 R follow the same law: m g d^2 T^2 /
// (16 pi^2 L).
func inertia(g, radius, length, platform, platformPeriod, mass, period float64) float64 {
	return g * radius * radius / (4 * math.Pi * math.Pi * length) *
		((mass+platform)*period*period - platform*platformPeriod*platformPeriod)
}

// rigInputs returns the inputs that every part swung on the rig shares, in the order that inertia takes them.
func (r Rig) rigInputs() []Input {
	platform := Input{Name: "mass of platform", Value: r.PlatformMass}
	period := Input{Name: "times of platform"}
	if r.PlatformMass > 0 {
		platform.SD = r.MassSD
		period = r.Platform.period("platform")
	}
	return []Input{gravity, {Name: "radius of threads", Value: r.Radius, SD: r.RadiusSD},
		{Name: "length of threads", Value: r.Length, SD: r.LengthSD}, platform, period}
}

func (r Rig) partInputs(p Hung) ([]Input, error) {
	if !finite(p.Mass) || p.Mass <= 0 || p.Mass > mostMass {
		return nil, fmt.Errorf("%s: the mass is %s kg; it must lie between 0 and 200 kg", p.Name, vehicle.Plain(p.Mass, 4))
	}
	if err := p.check(p.Name); err != nil {
		return nil, err
	}
	return []Input{{Name: "mass of " + p.Name, Value: p.Mass, SD: r.MassSD}, p.period(p.Name)}, nil
}

// Swing returns the inertia in kg m^2 of a part swung on the rig.
func (r Rig) Swing(p Hung) (*stats.Estimate, []Share, error) {
	if err := r.check(); err != nil {
		return nil, nil, err
	}
	own, err := r.partInputs(p)
	if err != nil {
		return nil, nil, err
	}
	w := r.widening()
	est, budget := propagate(append(r.rigInputs(), own...), func(x []float64) float64 {
		return inertia(x[0], x[1], x[2], x[3], x[4]/w, x[5], x[6]/w)
	})
	if est.Value <= 0 {
		return nil, nil, fmt.Errorf("%s: swings faster than the empty platform allows; check masses and times", p.Name)
	}
	return est, budget, nil
}

// Change returns the inertia after minus before in kg m^2 of two parts swung on the same rig. The errors of its
// radius, length and platform are common to both and are counted once, with their sign.
func (r Rig) Change(before, after Hung) (*stats.Estimate, []Share, error) {
	if err := r.check(); err != nil {
		return nil, nil, err
	}
	old, err := r.partInputs(before)
	if err != nil {
		return nil, nil, err
	}
	fresh, err := r.partInputs(after)
	if err != nil {
		return nil, nil, err
	}
	w := r.widening()
	est, budget := propagate(append(append(r.rigInputs(), old...), fresh...), func(x []float64) float64 {
		platform, empty := x[3], x[4]/w
		return inertia(x[0], x[1], x[2], platform, empty, x[7], x[8]/w) - inertia(x[0], x[1], x[2], platform, empty, x[5],
			x[6]/w)
	})
	return est, budget, nil
}
