package motion

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/analysis/gearstate"
	"flywitness/vehicle"
)

func handCar() *vehicle.Vehicle {
	return &vehicle.Vehicle{Mass: 1200, MassSD: 18, RollingCircumference: 2 * math.Pi * 0.3, WheelInertia: 0.9,
		Gearbox:  vehicle.Gearbox{Ratios: []float64{3.5, 2, 1.4, 1}, FinalDrive: 4, Efficiency: 0.95},
		RoadLoad: &vehicle.RoadLoad{F0: 120, F2: 0.4}}
}

// Newton by hand: fourth gear, 7.2 km/h/s = 2 m/s^2 at 72 km/h = 20 m/s, uphill 2 %. Wheels 4 * 0.9 / 0.09 = 40
// kg; force 1240 * 2 + 120 + 0.4 * 400 + 1200 * 9.80665 * 0.02 = 2995.36 N; times 0.3 m / (4 * 0.95) = 236.48 N
// m.
func TestTorqueThroughTheClutchByHand(t *testing.T) {
	f := NewForce(handCar(), false)
	r := &Record{parts: []part{{state: []State{{V: 72, A: 7.2}}}}, slope: []float64{0.02}, slopeSD: []float64{0.004}}
	if got := r.ClutchTorque(f, 4, 0); math.Abs(got-236.4757) > 1e-3 {
		t.Errorf("torque %.4f N m, by hand 236.4757", got)
	}
	r.slope = nil
	if got := r.ClutchTorque(f, 4, 0); math.Abs(got-2760*0.3/3.8) > 1e-9 {
		t.Errorf("torque on the level %.4f N m", got)
	}
	if got := r.ClutchTorque(f, 5, 0); !math.IsNaN(got) {
		t.Errorf("torque in a gear that the car has not: %v", got)
	}
	if r.SlopeError(0) != vehicle.UsualSlopeSD {
		t.Errorf("a slope that nothing is known of has an error of %v", r.SlopeError(0))
	}
}

// A display that reads 3 % high makes the car's acceleration 3 % high.
func TestDisplayedSpeedIsCorrected(t *testing.T) {
	f, told := NewForce(handCar(), false), NewForce(handCar(), false)
	f.Undisplay(1.03)
	if got := told.clutch(4, 7.2, 72) / f.clutch(4, 7.2, 72); math.Abs(got-1.03) > 1e-9 {
		t.Errorf("corrected by %.4f, want 1.03", got)
	}
}

// road makes pieces of a drive with known engine, road load and slope: torque 250 N m times load less 15 N m of
// drag, slope a walk.
func road(f *Force, rolling float64, n int) (pieces []piece, slopes []float64) {
	rng := rand.New(rand.NewPCG(4, 4))
	weight := f.Vehicle.Mass * vehicle.Gravity
	slope, load, gear := 0.0, 0.4, 4
	for i := range n {
		v := 20 + 6*math.Sin(float64(i)/40)
		if i > 0 {
			keep := math.Exp(-v / slopeLength)
			slope = keep*slope + 0.015*math.Sqrt(1-keep*keep)*rng.NormFloat64()
		}
		if i%7 == 0 {
			load, gear = 0.25+0.75*rng.Float64(), 3+rng.IntN(2)
		}
		p := piece{t: float64(i), length: 1, way: v, gear: gear, arm: f.Arm(gear), v: v, rpm: v * 120 / float64(gear) * 3,
			load: load, sd: 0.001}
		torque := 250*load - 15
		drag := f.load.Force(v) - f.load.F0 + rolling*f.load.F0 // true force; pull is reckoned with the told one
		p.pull = torque/(p.arm*weight) - slope + (f.load.Force(v)-drag)/weight
		if i%50 >= 40 {
			p.gear, p.arm, p.load = 0, 0, math.NaN()
			p.pull = -slope + (f.load.Force(v)-drag)/weight
		}
		p.pull += p.sd * rng.NormFloat64()
		if i == 0 {
			p.way = math.Inf(1)
		}
		pieces, slopes = append(pieces, p), append(slopes, slope)
	}
	return pieces, slopes
}

// Slope and road load come back from a drive that was made with known ones, with errors as stated.
func TestSurveyFindsSlopeAndRoadLoad(t *testing.T) {
	f := NewForce(handCar(), false)
	pieces, slopes := road(f, 1.25, 4000)
	s := fitGrade(pieces, f)
	if s == nil {
		t.Fatal("no survey")
	}
	got, variance := s.slopes()
	sum, z, raw := 0.0, 0.0, 0.0
	for i := range got {
		e := got[i] - slopes[i]
		sum, z, raw = sum+e*e, z+e*e/variance[i], raw+slopes[i]*slopes[i]
	}
	n := float64(len(got))
	if rms := math.Sqrt(sum / n); rms > 0.25*math.Sqrt(raw/n) {
		t.Errorf("slope error %.4f, the slopes themselves are %.4f", rms, math.Sqrt(raw/n))
	}
	if ratio := math.Sqrt(z / n); ratio < 0.5 || ratio > 2 {
		t.Errorf("errors are %.2f times the stated ones", ratio)
	}
	q := s.rolling()
	if x, sd := s.x.AtVec(q), math.Sqrt(s.cov.At(q, q)); math.Abs(x-0.25) > 3*sd || sd > 0.12 {
		t.Errorf("rolling is %.2f ± %.2f of what the file says, truly 0.25", x, sd)
	}
	if s.spread < 0.008 || s.spread > 0.028 {
		t.Errorf("spread of the slope %.3f, truly 0.015", s.spread)
	}
	if s.Coasted() < 700 || s.Coasted() > 800 {
		t.Errorf("%.0f s of rolling were used, 800 were driven", s.Coasted())
	}
}

// A few seconds tell no slope, and brakes in neutral are not taken for road load.
func TestSurveyRefusesTooLittleAndBrakes(t *testing.T) {
	f := NewForce(handCar(), false)
	pieces, _ := road(f, 1, 30)
	if fitGrade(pieces, f) != nil {
		t.Error("a survey of 30 s")
	}
	pieces, _ = road(f, 1, 1500)
	braked := 0
	for i := range pieces {
		if pieces[i].gear == 0 && i%50 >= 46 {
			pieces[i].pull -= 0.04 // 0.4 m/s^2
			braked++
		}
	}
	s := fitGrade(pieces, f)
	if s == nil {
		t.Fatal("no survey")
	}
	kept := 0
	for i := range pieces {
		if pieces[i].gear == 0 && i%50 >= 46 && !s.bad[i] {
			kept++
		}
	}
	if kept > braked/5 { // a gentle brake on an upward slope looks like a steeper one
		t.Errorf("%d of %d braked seconds were taken for rolling", kept, braked)
	}
	if x, sd := s.x.AtVec(s.rolling()), math.Sqrt(s.cov.At(s.rolling(), s.rolling())); math.Abs(x) > 3*sd {
		t.Errorf("rolling is corrected by %.2f ± %.2f, and only brakes were added", x, sd)
	}
}

// Between two pieces the slope is as uncertain as a road can be, at a piece as the piece.
func TestSlopeBetweenPieces(t *testing.T) {
	r := &Record{parts: []part{{state: []State{{V: 72}}}}}
	pieces := []piece{{t: 0}, {t: 40}} // 800 m apart
	slope, variance := []float64{0.02, -0.01}, []float64{1e-6, 1e-6}
	level := 0.02 * 0.02
	r.Track = trackAt(0)
	if x, sd := r.slopeBetween(pieces, slope, variance, level, 200, 1, 0); math.Abs(x-0.02) > 1e-6 || sd > 0.0011 {
		t.Errorf("at the first piece %.4f ± %.4f", x, sd)
	}
	r.Track = trackAt(20)
	x, sd := r.slopeBetween(pieces, slope, variance, level, 200, 1, 0)
	// Two ends 400 m away leave exp(-2) each: the mean of a bridge by hand is (s1 + s2) rho / (1 + rho^2), rho = exp(-2).
	rho := math.Exp(-2)
	if want := 0.01 * rho / (1 + rho*rho); math.Abs(x-want) > 1e-9 {
		t.Errorf("half way %.6f, by hand %.6f", x, want)
	}
	if want := 0.02 * math.Sqrt((1-rho*rho)/(1+rho*rho)); math.Abs(sd-want) > 2e-4 {
		t.Errorf("half way ± %.5f, by hand ± %.5f and the ends' own", sd, want)
	}
}

func trackAt(t float64) *gearstate.Track { return &gearstate.Track{T: []float64{t}} }
