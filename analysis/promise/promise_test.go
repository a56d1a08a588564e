package promise

import (
	"math"
	"testing"

	"flywitness/analysis/stats"
	"flywitness/finding"
)

// All sentences are tested where they are read (dashboards/text); here the judgement at its edges, and the numbers.
func TestJudgeAtItsEdges(t *testing.T) {
	interval := func(lo, hi float64) *stats.Estimate {
		return &stats.Estimate{Value: (lo + hi) / 2, SD: (hi - lo) / 4, CI95: [2]float64{lo, hi}}
	}
	for _, c := range []struct {
		amount, lo, hi float64
		want           Outcome
	}{
		{100, 84, 134, Kept}, {100, 50, 100, Kept}, {100, 100, 120, Kept}, {100, 100.1, 120, More},
		{100, 49.9, 120, NotShown},
		{100, 0, 120, Undecided}, {100, -20, 99.9, NotKept}, {100, -134, -84, NotKept},
	} {
		if got := (&Promise{Kind: Mass, Amount: c.amount, Gear: 1}).Judge(interval(c.lo, c.hi)); got != c.want {
			t.Errorf("%g promised, %g to %g measured: %s, want %s", c.amount, c.lo, c.hi, got, c.want)
		}
		// The same as a change of inertia, which is negative when inertia was taken off.
		if got := (&Promise{Kind: Inertia, Amount: -c.amount}).Judge(interval(-c.hi, -c.lo)); got != c.want {
			t.Errorf("as a change: %s, want %s", got, c.want)
		}
		// A rise that was promised is judged by the rise.
		if got := (&Promise{Kind: Inertia, Amount: c.amount}).Judge(interval(c.lo, c.hi)); got != c.want {
			t.Errorf("as a rise: %s, want %s", got, c.want)
		}
	}
	if (&Promise{Kind: Mass, Amount: 1}).Judge(nil) != Undecided {
		t.Error("nothing measured decides")
	}
	for o, want := range map[Outcome]Verdict{Kept: "supported", More: "supported", NotKept: "not_supported",
		NotShown: "cannot_tell", Undecided: "cannot_tell"} {
		if o.Verdict() != want {
			t.Errorf("%s is %s", o, o.Verdict())
		}
	}
}

// P = T w: 150 kW at 5500 rpm are 260.4 N m, by hand 150000 / (5500 * pi / 30).
func TestClutchTorqueOfAPower(t *testing.T) {
	p := Promise{Kind: ClutchPower, Amount: 150, AtRPM: 5500}
	if got := p.ClutchTorque(); math.Abs(got-260.4353) > 1e-3 {
		t.Errorf("%.4f N m", got)
	}
	if (&Promise{Kind: Mass, Amount: 100}).ClutchTorque() != 0 {
		t.Error("a mass is a torque")
	}
}

// A clutch that was promised to hold 300 N m, at the edges of what it carried or let go at.
func TestJudgeClutchAtItsEdges(t *testing.T) {
	seen := func(lo, hi float64) *stats.Estimate {
		return &stats.Estimate{Value: (lo + hi) / 2, CI95: [2]float64{lo, hi}}
	}
	p := &Promise{Kind: Torque, Amount: 300}
	for _, c := range []struct {
		name string
		Clutch
		want Outcome
	}{
		{"carried a fifth more", Clutch{Torque: seen(360, 380)}, More},
		{"carried it and hardly more", Clutch{Torque: seen(310, 325)}, Kept},
		{"carried it just", Clutch{Torque: seen(300, 320)}, Kept},
		{"perhaps carried it", Clutch{Torque: seen(290, 310)}, NotShown},
		{"was never asked for it", Clutch{Torque: seen(200, 220)}, Undecided},
		{"lets go below", Clutch{Slips: true, Torque: seen(270, 290)}, NotKept},
		{"lets go about there", Clutch{Slips: true, Torque: seen(290, 310)}, Undecided},
		{"lets go above", Clutch{Slips: true, Torque: seen(320, 340)}, Undecided},
		{"nothing known", Clutch{}, Undecided},
		{"the log lacks it", Clutch{Why: finding.Say(finding.New(finding.NoLogAfter)), Torque: seen(360, 380)}, Undecided},
	} {
		if got := p.JudgeClutch(c.Clutch); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// Inertia that is promised to be more is a rise; less of it, and a mass that is taken off, are none.
func TestWhichPromisesAreRises(t *testing.T) {
	for _, c := range []struct {
		kind   Kind
		amount float64
		want   bool
	}{{Inertia, 0.02, true}, {Inertia, -0.02, false}, {Mass, 95, false}, {Mass, -20, true}} {
		if got := (&Promise{Kind: c.kind, Amount: c.amount, Gear: 1}).rise(); got != c.want {
			t.Errorf("%s of %g: a rise %v", c.kind, c.amount, got)
		}
	}
}
