package slip

import (
	"cmp"
	"math"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/detect"
	"flywitness/finding"
)

// Before a clutch is said to hold, nothing in the log may be left that looks like one that does not. What may
// have another cause is no slip, but it is a doubt: it is named, with what settles it.

const (
	leftTime  = 0.9 // s of a departure that is worth a doubt,
	briefMost = 3   // and how many shorter ones are
	// s, and one value, that a foot takes to let the clutch in at most
	footTime = 1.8
)

// caveat returns why a clutch cannot be said to hold although no slip was seen, and what settles it; nil when
// nothing speaks against it.
func (j *judge) caveat() *caveat {
	for _, r := range j.records {
		if r.Misunderstood() {
			return but(finding.EachGearLight, finding.LightLoadOdd)
		}
	}
	if c := j.leftOver(); c != nil {
		return c
	}
	if p := j.unproven(); p != nil {
		return but(finding.PullAgain, finding.StoodAhead,
			j.in(p.Input, finding.Duration("at", p.Start), finding.Gear(p.Gear))...)
	}
	for _, r := range j.records {
		for _, free := range []func(*detect.Record) (from, to float64, ok bool){runsFree, leftAndBack} {
			if from, to, ok := free(r); ok {
				return but(finding.PullAgain, finding.RanFree,
					j.in(r.Input, finding.Duration("from", from), finding.Duration("to", to))...)
			}
		}
		if at, ok := r.DoubtfulGap(); ok {
			return but(finding.PullWithoutGap, finding.GapUnderLoad, j.in(r.Input, finding.Duration("at", at))...)
		}
	}
	if n := len(j.cal.Gears); n > mostGears {
		return but(finding.LightFirst, finding.TooManyRatios, finding.Count("ratios", n))
	}
	if gear, ok := j.onlyUnderLoad(); ok {
		return &caveat{finding.New(finding.GearOnlyLoaded, finding.Gear(gear)),
			finding.New(finding.GearGently, finding.Gear(gear))}
	}
	if len(j.cal.OffFile) > 0 {
		return but(finding.CheckRatio, finding.GearOffFile, finding.Gear(j.cal.OffFile[0]),
			finding.Pct("off", 100*calibrate.FileApart))
	}
	return nil
}

// in adds to the values of a sentence which log its times are of, where there are several.
func (j *judge) in(input int, values ...finding.Value) []finding.Value {
	if len(j.names) < 2 {
		return values
	}
	return append(values, finding.Name("log", j.names[input]))
}

// rareExcess is the share of the full-load pulls that may stand ahead without a doubt: the errors of a log do that in
// one of a hundred, a clutch that slips a little in about every other.
const rareExcess = 0.1

// unproven is the first full-load pull in which the engine stood ahead, but not by enough to prove slip; nil where
// those are few beside the ones that held.
func (j *judge) unproven() (first *Pull) {
	ahead, held := 0, 0
	for i := range j.out.Pulls {
		switch p := &j.out.Pulls[i]; {
		case !p.FullLoad:
		case p.Verdict == Holds:
			held++
		case p.Reason.Code() == finding.ExcessUnproven:
			ahead++
			first = cmp.Or(first, p)
		}
	}
	if float64(ahead) <= rareExcess*float64(ahead+held) {
		return nil
	}
	return first
}

// mostGears is how many gears a manual gearbox of a road car has at most. Common practice, no source.
const mostGears = 7

// leftOver names the departures that no harmless explanation covers.
func (j *judge) leftOver() *caveat {
	n, brief := 0, 0
	var worst *Event
	for i := range j.out.Events {
		e := &j.out.Events[i]
		if !j.events[i].suspect {
			continue
		}
		if e.End-e.Start < leftTime {
			brief++
			continue
		}
		n++
		if worst == nil || e.End-e.Start > worst.End-worst.Start {
			worst = e
		}
	}
	if n == 0 && brief >= briefMost {
		return but(finding.ThreePulls, finding.BriefDepartures, finding.Count("events", brief))
	}
	if n == 0 {
		return nil
	}
	x := alternatives[worst.Kind]
	c := but(x.next, finding.LooksLikeSlip, j.in(worst.Input, finding.Count("events", n),
		finding.Duration("at", worst.Start), finding.Pct("ahead", worst.PeakSlip), finding.Gear(worst.Gear),
		finding.Duration("lasting", worst.End-worst.Start), finding.Saying("cause", finding.New(x.cause)))...)
	if x.next == finding.PullDry {
		c.next = finding.New(x.next, finding.Flag("dry", j.opt.DryRoad))
	}
	return c
}

// alternatives are what could have made a departure of each kind, and what settles it.
var alternatives = map[detect.Kind]struct{ cause, next finding.Code }{
	detect.KindEngagement:  {finding.MaybeEngagement, finding.PullLowerFirst},
	detect.KindWheelspin:   {finding.MaybeWheelspin, finding.PullDry},
	detect.KindCreep:       {finding.MaybeCreep, finding.PullDry},
	detect.KindShift:       {finding.MaybeShift, finding.PullHeld},
	detect.KindPedal:       {finding.MaybePedal, finding.PullOffPedal},
	detect.KindNoForce:     {finding.MaybeNoForce, finding.PullHeld},
	detect.KindOtherGear:   {finding.MaybeOtherGear, finding.PullHeld},
	detect.KindSignal:      {finding.MaybeSpeedSignal, finding.PullQuicker},
	detect.KindCarriedMore: {finding.MaybeCarriedMore, finding.PullAgain},
	detect.KindShort:       {finding.MaybeShort, finding.PullAgain},
}

// knownGear is the gear from which a clutch that is let in takes no longer than a foot takes: in first and
// second cars set off.
const knownGear = 3

// isSuspect tells whether a departure may be slip after all.
func (j *judge) isSuspect(d *detect.Departure) bool {
	t := d.End - d.Start
	if d.Kind == detect.KindSlip {
		return true
	}
	if d.InLearntGear() || d.UnderFoot() {
		return false
	}
	if rest, ok := d.WasGeared(); ok { // a change of gear on either side
		if t = rest; t < footTime+j.cal.Period {
			return false
		}
	}
	if d.ComesToRest() { // whatever else it may be; its begin and its end are each known to a value
		return d.Gear >= knownGear && d.Moving && t >= footTime+2*j.cal.Period
	}
	switch d.Kind {
	case detect.KindEngagement:
		// an engine on its line is off it again for a moment where a foot is slow, and for longer where a clutch slips
		in := d.Gear >= knownGear || d.Slid()
		return in && d.Moving && (t >= footTime+j.cal.Period || d.Rose() && t >= leftTime)
	case detect.KindWheelspin: // rare above second, where the engine pushes the less; a doubt in second unless sure
		return d.Gear >= knownGear && t >= leftTime ||
			d.Gear > 1 && t >= detect.CaughtIn+j.cal.Period && d.Odds > -detect.Proven
	case detect.KindPedal:
		// who dabs at the clutch pedal is off it within that time, and does not do it pull by pull; nor is the car pushed
		// on as before meanwhile, where that shows
		again := t < leftTime || t >= footTime && d.Relocks()
		return again || t >= detect.StabTime+j.cal.Period && d.ForceKept(j.cal.Period)
	case detect.KindShift:
		return d.ForceKept(j.cal.Period)
	}
	return d.Moving && (t >= leftTime || d.Relocks())
}

// onlyUnderLoad returns a gear that was driven only under load and entered from a taller one without a break of force.
// Where the vehicle file has the gear and the log bears the file out, slip would have to keep its ratio by chance.
func (j *judge) onlyUnderLoad() (gear int, ok bool) {
	light, entered := map[int]float64{}, map[int]bool{}
	for _, r := range j.records {
		if r.Track.Model.Complete {
			continue
		}
		r.LightTime(light)
		for _, g := range r.EnteredUnderForce() {
			entered[g] = true
		}
	}
	for _, g := range j.cal.Gears {
		if entered[g.Gear] && light[g.Gear] < lightLeast {
			return g.Gear, true
		}
	}
	return 0, false
}

// lightLeast is how long (s) a gear must be driven at light load to be one.
const lightLeast = 1.5

// hardPull is the power per mass (W/kg) that a pull must reach to test a clutch where nothing else tells how
// hard the engine worked.
const hardPull = 35.0

// fullByForce marks as full the pulls that took most of what the engine gives, where no channel tells how hard it
// worked and both are known; else those that asked for the highest engine torque of the logs, by the force at the
// wheels over the gearing, if the hardest pull deserves the name.
func (j *judge) fullByForce() {
	top := 0.0
	for i := range j.out.Pulls {
		top = math.Max(top, j.pulls[i].torque.Value)
	}
	hard := false
	for i := range j.out.Pulls {
		near := j.pulls[i].torque.Value >= detect.FullFrom*top
		hard = hard || near && (j.pulls[i].power >= hardPull || j.tookPeak(i))
	}
	for i := range j.out.Pulls {
		j.out.Pulls[i].FullLoad = hard && j.pulls[i].torque.Value >= detect.FullFrom*top
	}
}

// tookPeak tells whether a pull took as much of the engine's peak torque, where that is known, as counts as full load.
func (j *judge) tookPeak(pull int) bool {
	took := j.out.Pulls[pull].PeakTorque
	return took != nil && j.veh.Engine.PeakTorque > 0 && took.Value >= detect.FullFrom*j.veh.Engine.PeakTorque
}

// hardest is the most torque that a pull took, and what the engine gives; nothing where one is not known.
func (j *judge) hardest() []finding.Value {
	if j.veh == nil || j.veh.Engine.PeakTorque <= 0 {
		return nil
	}
	most := 0.0
	for i := range j.out.Pulls {
		if p := j.out.Pulls[i].PeakTorque; p != nil {
			most = math.Max(most, p.Value)
		}
	}
	if most == 0 {
		return nil
	}
	return []finding.Value{finding.Torque("most", most), finding.Torque("peak", j.veh.Engine.PeakTorque)}
}
