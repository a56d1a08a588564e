package inertia

import (
	"math"
	"testing"

	"flywitness/vehicle"
)

// A tyre on paper is known to half a per cent (6 mm of wear of 300 mm are 2 %, so hardly better), a displayed speed
// to a few; a gearbox loses 4 to 6 %.
func TestWhatPaperAndSpeedometerAreWorth(t *testing.T) {
	v := small().told()
	b := bodyOf(v)
	if _, sd := b.gearing(2, speedScale{}); sd < 0.003 || sd > 0.01 {
		t.Errorf("gearing from paper is known to %.1f %%", 100*sd)
	}
	bare := bodyOf(&vehicle.Vehicle{Mass: 1180})
	k, sd := bare.gearing(2, speedScale{perRPM: 0.015})
	// By hand: 0.015 km/h per rpm is 0.0041667 m/s per 0.104720 rad/s, so k = 25.13.
	if math.Abs(k-25.1327) > 1e-3 || sd < 0.01 || sd > 0.04 {
		t.Errorf("k = %.4f, known to %.1f %%", k, 100*sd)
	}
	if b.efficiencySD < 0.008 || b.efficiencySD > 0.03 {
		t.Errorf("a gearbox is known to %.1f %%", 100*b.efficiencySD)
	}
}

// errorsOf are the error parts of a closed form whose runs have no error of their own.
func errorsOf(t *testing.T, sameSession, pressure bool) (e ErrorParts, drag, base float64) {
	t.Helper()
	f, expected := secondGear(t, 3)
	r := falling(4500, 1450, func(n, _ float64) float64 { return expected(n) })
	var err error
	if f.over, err = ShapeOf([]*Run{r}); err != nil {
		t.Fatal(err)
	}
	f.lnOver = math.Log(f.over.Runs[0].B)
	f.lnOvers = []float64{f.lnOver}
	guess := guessRoad(f.b.veh, f.b.massC)
	f.road = &rolling{p0: guess.p0, p2: guess.p2}
	f.slopeSD, f.overN, f.coastN = 0, 1, 1
	f.lo, f.hi = 1500, 4400
	ln, e, ok := f.estimate(sameSession, pressure)
	if !ok {
		t.Fatal("no estimate")
	}
	// An error of the engine's drag in gear moves ln I by (o - c) / o of the engine times o (d - c) / ((o - c)(d -
	// o)): worked from the mean rates.
	d, o, c := f.rates(0, 0, 0)
	total := f.b.massC + f.k*f.k*math.Exp(ln)/f.b.efficiency
	drag = o * (d - c) / ((o - c) * (d - o)) * (1 - f.b.massC*c/(total*o))
	base = math.Sqrt(f.b.massSD*f.b.massSD + 4*f.kSD*f.kSD +
		f.b.efficiencySD*f.b.efficiencySD/(f.b.efficiency*f.b.efficiency))
	return e, drag, base
}

// The engine's drag in gear may be another than in neutral: a car that cuts fuel in the one and not in the other
// differs by some 10 %, which two standard deviations must hold; where the manifold pressure is seen alike a few per
// cent are left. Most of it is how the car fuels, the same before and after.
func TestDragInGearMayDiffer(t *testing.T) {
	e, drag, base := errorsOf(t, true, false)
	shared := math.Sqrt(e.Common*e.Common-base*base) / math.Abs(drag)
	if own := e.Own / math.Abs(drag); 2*math.Hypot(shared, own) < 0.10 || 2*math.Hypot(shared, own) > 0.25 ||
		own > shared/2 || own < shared/10 {
		t.Errorf("drag differs by %.3f in common and %.3f by itself", shared, own)
	}
	e, _, _ = errorsOf(t, true, true)
	if seen := math.Sqrt(e.Common*e.Common-base*base) / math.Abs(drag); 2*seen < 0.02 || 2*seen > 0.08 {
		t.Errorf("with the pressure seen alike drag differs by %.3f", seen)
	}
	other, _, _ := errorsOf(t, false, true)
	if other.Own < 1.5*e.Own {
		t.Errorf("runs of another session add nothing: %.4f beside %.4f", other.Own, e.Own)
	}
}

// The slope under one overrun, by hand: two runs' weight for what is usual, 0.005; four overruns that scatter by 0.02
// say sqrt((2 * 0.005^2 + 3 * 0.02^2)/5) = 0.0158. What was seen must not drown in what is usual.
func TestOverrunsTellTheirOwnSlope(t *testing.T) {
	f := &closedForm{slopeSD: 0.005, lnOvers: []float64{0}}
	if got := f.gradeSD(0.2); got != 0.005 {
		t.Errorf("one overrun tells a slope of %.4f", got)
	}
	f.lnOvers = []float64{-math.Sqrt(0.015), 0, 0, math.Sqrt(0.015)} // sd 0.1
	if got := f.gradeSD(0.2); got < 0.014 || got > 0.02 {
		t.Errorf("%.4f", got)
	}
}

// Intake pressure of 30 kPa in the free revs: 31.5 off the throttle in gear is alike, 36 is not, and nothing is not.
func TestIntakePressureSeenAlike(t *testing.T) {
	runs := func(from float64) []*Run { return []*Run{{T: []float64{from, from + 5}}} }
	for inGear, want := range map[float64]bool{31.5: true, 28: true, 36: false} {
		p := &series{}
		for i := range 20 {
			p.t, p.v = append(p.t, float64(i)), append(p.v, 30)
			if i >= 10 {
				p.v[i] = inGear
			}
		}
		if pressureAgrees([]*preparedLog{{pressure: p}}, runs(0), runs(10)) != want {
			t.Errorf("30 and %.1f kPa: alike is %v", inGear, !want)
		}
	}
	if pressureAgrees([]*preparedLog{{}}, runs(0), runs(10)) {
		t.Error("pressures that nobody recorded are alike")
	}
}

func TestOneSession(t *testing.T) {
	of := func(n ...int) (out []*Run) {
		for _, s := range n {
			out = append(out, &Run{Session: s})
		}
		return out
	}
	if !oneSession(of(0, 1), of(1, 1)) || oneSession(of(0), of(0, 1)) {
		t.Error("free revs of sessions 0 and 1 cover overruns of session 1; those of session 0 alone do not")
	}
}
