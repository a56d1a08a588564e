// Package sample fills the result types with an invented car, for the tests of the pages: the numbers are plausible, the
// same at every call, and come from no analysis.
package sample

import (
	"math"
	"math/rand/v2"

	"flywitness/analysis"
	"flywitness/analysis/calibrate"
	"flywitness/analysis/compare"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/inertia"
	"flywitness/analysis/promise"
	"flywitness/analysis/slip"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
)

// Gearing is the invented car's rpm per km/h.
var Gearing = []float64{120.1, 68.5, 47.8, 36.2, 29.1}

type driver struct {
	rnd    *rand.Rand
	tr     slip.Trace
	t, v   float64 // s, km/h
	slips  bool
	Pulls  []slip.Pull
	Events []slip.Event
}

func (d *driver) add(rpm, locked, torque float64) {
	rpm = math.Round(rpm + 6*d.rnd.NormFloat64())
	pct := math.NaN()
	if !math.IsNaN(locked) && rpm > 0 {
		pct = 100 * (rpm - locked) / rpm
	}
	d.tr.T = append(d.tr.T, d.t)
	d.tr.SpeedKmh = append(d.tr.SpeedKmh, math.Round(d.v))
	d.tr.RPM = append(d.tr.RPM, rpm)
	d.tr.LockedRPM = append(d.tr.LockedRPM, locked)
	d.tr.SlipPct = append(d.tr.SlipPct, pct)
	d.tr.TorqueNm = append(d.tr.TorqueNm, torque)
	d.t += 0.1
}

func (d *driver) segment(start float64, gear int, c gearstate.Clutch) {
	d.tr.Segments = append(d.tr.Segments, gearstate.Segment{Start: start, End: d.t, Gear: gear, Clutch: c})
}

func (d *driver) locked(gear int, seconds, to, torque float64) {
	start, rate := d.t, (to-d.v)/seconds
	for d.t < start+seconds {
		d.v += rate * 0.1
		l := d.v * Gearing[gear-1]
		d.add(math.Max(l, 850), l, 40+torque+8*d.rnd.NormFloat64())
	}
	d.segment(start, gear, gearstate.Locked)
}

func (d *driver) neutral(seconds, rate float64) {
	start := d.t
	for d.t < start+seconds {
		d.v = math.Max(0, d.v+rate*0.1)
		d.add(850+900*math.Exp(-(d.t-start)), math.NaN(), math.NaN())
	}
	d.segment(start, 0, gearstate.Open)
}

// pull accelerates at full load; where the clutch slips the excess grows and fades over the middle of it.
func (d *driver) pull(gear int, seconds, to float64) {
	start, v0 := d.t, d.v
	peak, from, until, energy := 0.0, 0.0, 0.0, 0.0
	for d.t < start+seconds {
		s := (d.t - start) / seconds
		d.v = v0 + (to-v0)*s
		l := d.v * Gearing[gear-1]
		excess := 0.0
		if d.slips {
			excess = 0.09 * math.Exp(-math.Pow((s-0.5)/0.17, 2))
		}
		if excess > 0.01 {
			if from == 0 {
				from = d.t
			}
			until = d.t
		}
		torque := 95 + 130*math.Sin(math.Pi*math.Min(1, 0.15+s))
		peak, energy = math.Max(peak, excess), energy+torque*excess*l*0.1047*0.1
		d.add(l*(1+excess), l, torque+5*d.rnd.NormFloat64())
	}
	if d.slips {
		d.tr.Segments = append(d.tr.Segments, gearstate.Segment{Start: start, End: from, Gear: gear, Clutch: gearstate.Locked},
			gearstate.Segment{Start: from, End: until, Gear: gear, Clutch: gearstate.Slipping})
		start = until
	}
	d.segment(start, gear, gearstate.Locked)
	p := slip.Pull{Start: d.t - seconds, End: d.t, Gear: gear, Verdict: slip.Holds, MaxSlip: 0.4, SmallestDetectable: num(1.3),
		PeakTorque: stats.Normal(222, 9), HeldTorque: stats.Normal(214, 9), Heat: num(energy)}
	if d.slips {
		p.Verdict, p.MaxSlip, p.HeldTorque, p.Reason = slip.Slips, 100*peak, stats.Normal(168, 8), says("the engine ran up to 8 % ahead of its gear")
		d.Events = append(d.Events, slip.Event{Start: from, End: until, Gear: gear, PeakSlip: 100 * peak, MeanSlip: 60 * peak, PeakSlipRPM: 300,
			OnsetTorque: stats.Normal(176, 9), Energy: num(energy), Confidence: 0.99, Kind: "slip"})
	}
	d.Pulls = append(d.Pulls, p)
}

// Slip returns a finding with its trace: about twenty minutes at 10 Hz, up through the gears, a pull in fourth, coasting in
// neutral, four times. With slips, the engine runs away from its gear in every pull.
func Slip(slips bool) *slip.Finding {
	d := &driver{rnd: rand.New(rand.NewPCG(7, 11)), slips: slips}
	for range 4 {
		d.neutral(6, 0)
		for gear := 1; gear <= 4; gear++ {
			d.locked(gear, 14+float64(gear)*4, d.v+18, 0)
			d.neutral(0.9, -1)
		}
		d.locked(4, 40, 62, 0)
		d.pull(4, 9, 118)
		d.neutral(1, -1)
		d.locked(5, 90, 95, 0)
		d.neutral(28, -2.2)
	}
	f := &slip.Finding{Verdict: slip.Holds, Reason: says("no slip in 4 pulls through the torque peak"), SmallestDetectable: num(1.3),
		HighestTorqueHeld: stats.Normal(214, 9), Pulls: d.Pulls, Events: d.Events, Traces: []slip.Trace{d.tr},
		Engagements: []slip.Engagement{{Start: 6, End: 7.1, Kind: "launch", Gear: 1, Energy: num(8100), Duration: 1.1}}}
	if slips {
		f.Verdict, f.Reason = slip.Slips, says("the engine ran ahead of its gear in 4 of 4 pulls in fourth")
		f.OnsetTorque, f.HighestTorqueHeld = stats.Normal(176, 5), stats.Normal(168, 8)
		f.Pattern = slip.WithHeat
		f.LikelyCauses = []finding.Text{says("worn or glazed disc"), says("weak clamp load")}
	}
	return f
}

// Calibration returns the ladder of the invented car.
func Calibration() *calibrate.Calibration {
	c := &calibrate.Calibration{SpeedChannel: drive.VehicleSpeed, SpeedLag: stats.Normal(0.31, 0.02), SpeedStep: 1,
		SpeedRounding: "floor", SpeedSource: "driven", Period: 0.1, TimingSD: 0.012}
	for i, k := range Gearing {
		c.Gears = append(c.Gears, calibrate.Gear{Gear: i + 1, RPMPerKmh: stats.Normal(k, k*0.0008), Seconds: 60 + 40*float64(i)})
	}
	return c
}

func num(v float64) *float64 { return &v }

// says is a text that no code stands behind.
func says(s string) finding.Text { return finding.Say(finding.Told("", s)) }

func side(after bool, b float64, rnd *rand.Rand) ([]compare.FitRun, []inertia.Run) {
	var fits []compare.FitRun
	var runs []inertia.Run
	for i := range 8 {
		r := inertia.Run{Start: float64(20 * i), Kind: inertia.RevDown, Used: i != 3}
		slope := b * (1 + 0.01*rnd.NormFloat64())
		a := r.Start + slope*shape(3600)
		var residual []float64
		for rpm := 3500.0; rpm >= 1500; rpm -= 110 {
			e := 0.008 * rnd.NormFloat64()
			r.T, r.RPM, residual = append(r.T, a-slope*shape(rpm)+e), append(r.RPM, math.Round(rpm)), append(residual, e)
		}
		r.End, r.MeanRate = r.T[len(r.T)-1], -2000/(r.T[len(r.T)-1]-r.T[0])
		runs = append(runs, r)
		if !r.Used {
			runs[i].WhyNot = says("you lifted, the car kept the throttle open")
			continue
		}
		fits = append(fits, compare.FitRun{After: after, Run: r, A: a, B: slope, Residual: residual})
	}
	runs = append(runs, inertia.Run{Start: 300, End: 308, Kind: inertia.Overrun, Gear: 2, Used: true, MeanRate: -280})
	return fits, runs
}

// shape is seconds to fall to rpm from far above, for a drag that grows with speed.
func shape(rpm float64) float64 { return 2.2 * math.Log(1+rpm/1900) }

// Compare returns a reduced inertia, slipping before and holding after.
func Compare() *compare.Finding {
	rnd := rand.New(rand.NewPCG(3, 5))
	fb, rb := side(false, 1, rnd)
	fa, ra := side(true, 0.77, rnd)
	f := &compare.Finding{
		Verdict: compare.Reduced, Reason: says("the revs fall 30 % faster after the job, on two starts each side"), PValue: num(0.0004),
		Ratio: stats.Normal(1.30, 0.037), InertiaBefore: stats.Normal(0.292, 0.011), InertiaAfter: stats.Normal(0.2246, 0.0092),
		Change: stats.Normal(-0.0674, 0.0071), SmallestDetectable: num(6.1), ChangeBelow: num(28),
		Drivability: compare.Drivability{IdleSDBefore: stats.Normal(7.1, 0.6), IdleSDAfter: stats.Normal(9.4, 0.8),
			ShiftRevFallBefore: stats.Normal(820, 40), ShiftRevFallAfter: stats.Normal(1060, 50)},
		Claim: Claim(promise.Promise{Kind: promise.Mass, Amount: 95, Gear: 1}, stats.Normal(137, 15)),
		Before: &inertia.Finding{Runs: rb, Methods: []inertia.Method{{Name: "overrun", Inertia: stats.Normal(0.288, 0.014)},
			{Name: "gear_pulls", Inertia: stats.Normal(0.299, 0.019)}}, Inertia: stats.Normal(0.292, 0.011), MethodsAgree: yes(true),
			Drag: stats.Normal(28.4, 1.2), DragRPM: 2500},
		After: &inertia.Finding{Runs: ra, Methods: []inertia.Method{{Name: "overrun", Inertia: stats.Normal(0.223, 0.011)},
			{Name: "known_part", Inertia: stats.Normal(0.227, 0.012)}}, Inertia: stats.Normal(0.2246, 0.0092), MethodsAgree: yes(true),
			Drag: stats.Normal(28.1, 1.2), DragRPM: 2500},
		SlipBefore: Slip(true), SlipAfter: Slip(false),
		Fit: &compare.RatioFit{Runs: append(fb, fa...), Shape: shape, Low: 1500, High: 3500},
	}
	for g, k := range []float64{13.9, 7.92, 5.52, 4.18, 3.37} {
		n2 := math.Pow(k/0.307, 2)
		f.ByGear = append(f.ByGear, compare.ByGear{Gear: g + 1, EquivalentMass: stats.Normal(0.0674*n2, 0.0071*n2),
			AccelerationGain: stats.Normal(0.0674*n2/16, 0.0071*n2/16), EquivalentPower: stats.Normal(0.0674*n2/9, 0.0071*n2/9),
			AtRPM: 4000, AtAcceleration: 4.2 / float64(g+1)})
		f.SpanTimes = append(f.SpanTimes, compare.SpanTime{Gear: g + 1, FromKmh: 20, ToKmh: 45 * float64(g+1) / 1.6, Saved: stats.Normal(0.21/float64(g+1), 0.03)})
	}
	f.SpanTimes = f.SpanTimes[:2]
	for rpm := 1500.0; rpm <= 5500; rpm += 500 {
		f.Torque = append(f.Torque, compare.TorqueAt{RPM: rpm, Torque: stats.Normal(240-40*math.Pow((rpm-3500)/2000, 2), 9)})
	}
	return f
}

// Claim is a promise and how it came out.
func Claim(p promise.Promise, measured *stats.Estimate) *compare.Claim {
	o := p.Judge(measured)
	return &compare.Claim{Promise: p, Stated: p.Stated(), Measured: measured, Outcome: o, Verdict: o.Verdict(), Reason: p.Sentence(measured, o)}
}

func yes(b bool) *bool { return &b }

// Job returns the whole tree of a job with both sides.
func Job() *analysis.Result {
	r := &analysis.Result{Tool: analysis.Tool{Name: "analyze", Version: "test"}, Command: "job", Calibration: Calibration(), Compare: Compare(),
		Job: &analysis.JobInfo{Title: "Clutch and flywheel", Done: "240 mm disc, single-mass flywheel", Site: "road",
			KmSinceFitted: num(620), BedInKm: num(500), FootOnClutch: yes(false), Checklist: true,
			Customer: "M. Sample", Registration: "FW 26 MULE", VIN: "FLYWTNSS000MULE01", Date: "27 March 2026", OdometerKm: num(148620),
			Shop: &analysis.Shop{Name: "Quarry Lane Clutch Works", Address: []string{"4 Quarry Lane", "Invented Town"}}}}
	for i, name := range []string{"before/first.csv", "after/first.csv"} {
		r.Inputs = append(r.Inputs, analysis.Input{Path: name, Side: [...]string{"before", "after"}[i], Session: i + 1,
			SHA256: "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a0" + string(rune('8'+i)), Rows: 11800, SkippedRows: i, DurationS: 1180,
			Channels: []analysis.InputChannel{{Name: drive.EngineSpeed, Samples: 5900, RateHz: 5, Resolution: 0.25},
				{Name: drive.VehicleSpeed, Samples: 5900, RateHz: 5, Resolution: 1}, {Name: drive.CoolantTemp, Samples: 118, RateHz: 0.1, Resolution: 1}}})
	}
	r.Inputs = append(r.Inputs, analysis.Input{Path: "after/second.csv", Side: "after", Session: 3, SHA256: "60303ae22b998861bce3b28f33eec1be758a213c86c93c076dbe9f558c11c752",
		Rows: 40, DurationS: 4, Channels: []analysis.InputChannel{{Name: drive.EngineSpeed, Samples: 40, RateHz: 10, Resolution: 1}}})
	r.Warnings = []finding.Finding{finding.Told("session_unused", "after/second.csv: 4 s long, no run in it, not used"),
		finding.Told("row_skipped", "after/first.csv:2201: the row is cut short, skipped")}
	return r
}

// SlipResult returns the tree of `fw-analyze slip`.
func SlipResult(slips bool) *analysis.Result {
	j := Job()
	return &analysis.Result{Tool: j.Tool, Command: "slip", Inputs: j.Inputs[:1], Calibration: j.Calibration, Slip: Slip(slips)}
}
