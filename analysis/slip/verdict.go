package slip

import (
	"cmp"
	"math"

	"flywitness/analysis/detect"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/finding"
	"flywitness/vehicle"

	"gonum.org/v1/gonum/floats"
)

// The slip (%) that must have been visible over most of a pull before it "holds": the best stretch of such a
// pull shows 3 %. The figure itself is always stated, and a clutch that begins to slip does not stop at 4 %. A
// slow link shows a long slip only, and a little less of it.
const (
	holdsBelow     = 4.0
	slowHoldsBelow = 5.5
	slowestHolds   = 2.0 // s between values: slower than this, even six seconds hold three values only
)

// holdsBelow is the slip (%) that must have been visible on the link of this log.
func (j *judge) holdsBelow() float64 {
	if j.cal.Period > gearstate.SlowestLink {
		return slowHoldsBelow
	}
	return holdsBelow
}

// judgePull gives a pull its verdict.
func (j *judge) judgePull(p *Pull, unseen finding.Code, slips, others int) {
	because := func(v Verdict, code finding.Code, values ...finding.Value) {
		p.Verdict, p.Reason = v, finding.Say(finding.New(code, values...))
	}
	switch {
	case slips > 0:
		because(Slips, finding.EngineRanAway)
	case others > 0:
		because(Inconclusive, finding.SomethingElse)
	case p.SmallestDetectable == nil:
		because(Inconclusive, unseen)
	case *p.SmallestDetectable > j.holdsBelow():
		because(Inconclusive, finding.SlipHidden, finding.Pct("slip", *p.SmallestDetectable))
	default:
		because(Holds, finding.SlipWouldShow, finding.Pct("slip", *p.SmallestDetectable),
			finding.Duration("lasting", *p.SmallestSeconds))
	}
}

// verdict gives the log or the set of logs its verdict.
func (j *judge) verdict() {
	o := j.out
	j.summary()
	if reason := j.notJudged(); reason != nil {
		j.because(Inconclusive, *reason)
		return
	}
	slips := 0
	for _, e := range o.Events {
		if e.Kind == detect.KindSlip {
			slips++
		}
	}
	switch {
	case j.opt.beddingIn():
		j.notYet(j.proved)
	case j.proved && !j.manual:
		j.because(Inconclusive, finding.New(finding.SlipOrGearbox, finding.Count("events", slips)))
		j.advise(finding.New(finding.SayManual))
	case j.proved:
		j.slipping(slips)
	case slips > 0:
		j.because(Inconclusive, finding.New(finding.SlipUnsure, finding.Count("events", slips)))
		j.advise(finding.New(finding.RepeatPull))
	default:
		j.holding()
	}
}

// What the log must show of the gearbox, in nats by which a kind that slips by design is the likelier.
const (
	looksDesigned = 2.2  // above, the log is not judged
	looksManual   = -3.0 // below, it may be called slipping without being told
	// by which a sure slip speaks for a manual one: 17 in 20 that slip show it, and one manual clutch in four is weak;
	// of sound gearboxes that slip by design one in 180 shows it on a quick link, taken for one in 80, and one in 30 on a
	// slow one, taken for one in 20 (simulated, 8 of 1,440 and 16 of 480): ln(0.25 0.85 80) and ln(0.25 0.85 20)
	slipManual, slipManualSlow = 2.8, 1.4
	// between two gears that a log shows, even where it misses one of them: the ends of a belt's way are further
	// apart, 4.5 and more. Common practice, no source
	widestStep = 3.0
)

// told is what is known of the gearbox's kind, "" when nothing is.
func (j *judge) told() vehicle.GearboxType {
	if j.veh != nil && j.veh.Gearbox.Type != "" {
		return j.veh.Gearbox.Type
	}
	return j.opt.Gearbox
}

// isManual tells whether the gearbox of a log with a sure slip is told or shown to be manual.
func (j *judge) isManual() bool {
	if j.told() == "" && !j.showsSteps() {
		return false
	}
	bySlip := slipManual
	if j.cal.Period > gearstate.SlowLink {
		bySlip = slipManualSlow
	}
	return j.told() == vehicle.Manual || j.odds-bySlip+detect.SlipOdds(j.records) <= looksManual
}

// showsSteps tells whether the log shows two gears that a foot changes between. A stepless box at either end of its
// way keeps one ratio, as a gear does, and what leaves it there under load looks like slip.
func (j *judge) showsSteps() bool {
	for i, g := range j.cal.Gears[1:] {
		if a, b := j.cal.Gears[i].RPMPerKmh.Value, g.RPMPerKmh.Value; max(a, b) < widestStep*min(a, b) {
			return true
		}
	}
	return false
}

// notJudged returns why this car or log is not judged at all, nil when it is.
func (j *judge) notJudged() *finding.Finding {
	told := j.told()
	if told != "" && told != vehicle.Manual {
		return found(finding.GearboxSlips, finding.Flag("dual_clutch", told == vehicle.DualClutch),
			finding.Flag("cvt", told == vehicle.CVT))
	}
	if len(j.cal.Gears) == 0 {
		return found(finding.NoGearsShown)
	}
	if j.cal.SpeedLag == nil {
		return found(finding.NoDelayFound)
	}
	if told == "" && j.odds > looksDesigned {
		return found(finding.GearboxLooks)
	}
	return nil
}

// found is a finding where there may be none.
func found(code finding.Code, values ...finding.Value) *finding.Finding {
	f := finding.New(code, values...)
	return &f
}

// summary fills the figures of the log.
func (j *judge) summary() {
	o := j.out
	o.OnsetTorque = j.lowestOnset()
	j.leastSensitive()
	o.HighestTorqueHeld = j.heldTorque()
}

const (
	finestTorque = 0.1 // N m, to which the torque of one slip is told at best, beside what all of a car have in common
	// relative, by which the torque at which a clutch lets go differs from time to time: heat. Common practice, no source
	torqueSpread = 0.1
)

// lowestOnset is the lowest torque at which slip began; nil where none is known. The lowest of several readings errs
// downwards, so it is the lowest of the true torques that is asked for.
func (j *judge) lowestOnset() *stats.Estimate {
	var torque, own, shared []float64
	for i, e := range j.out.Events {
		if e.Kind == detect.KindSlip && e.OnsetTorque != nil {
			torque, shared = append(torque, e.OnsetTorque.Value), append(shared, j.events[i].shared)
			rest := stats.Square(e.OnsetTorque.SD) - stats.Square(j.events[i].shared)
			own = append(own, math.Sqrt(math.Max(finestTorque*finestTorque, rest)))
		}
	}
	if len(torque) == 0 {
		return nil
	}
	least, sd := stats.LeastOf(torque, own, torqueSpread*floats.Sum(torque)/float64(len(torque)))
	return stats.Normal(least, math.Hypot(sd, shared[floats.MinIdx(torque)]))
}

// leastSensitive states the smallest slip that would have shown in the least sensitive of the full-load pulls
// that held; without any, in the most sensitive one at full load; without any, in that of all.
func (j *judge) leastSensitive() {
	o := j.out
	var worst *Pull
	for i := range o.Pulls {
		p := &o.Pulls[i]
		if p.Verdict == Holds && p.FullLoad && (worst == nil || *p.SmallestDetectable > *worst.SmallestDetectable) {
			worst = p
		}
	}
	anywhere := j.mostSensitive(func(*Pull) bool { return true })
	if p := cmp.Or(worst, j.mostSensitive(atFullLoad), anywhere); p != nil {
		size, seconds := *p.SmallestDetectable, *p.SmallestSeconds
		o.SmallestDetectable, o.SmallestSeconds = &size, &seconds
	}
}

// atFullLoad tells whether a pull was at full load.
func atFullLoad(p *Pull) bool { return p.FullLoad }

// mostSensitive is the pull that would have shown the smallest slip, of those that count; nil without any.
func (j *judge) mostSensitive(counts func(p *Pull) bool) (best *Pull) {
	for i := range j.out.Pulls {
		p := &j.out.Pulls[i]
		if p.SmallestDetectable != nil && counts(p) && (best == nil || *p.SmallestDetectable < *best.SmallestDetectable) {
			best = p
		}
	}
	return best
}

func (j *judge) slipping(n int) {
	top := 0.0
	for _, e := range j.out.Events {
		if e.Kind == detect.KindSlip {
			top = math.Max(top, e.PeakSlip)
		}
	}
	j.because(Slips, finding.New(finding.ClutchSlipped, finding.Count("events", n), finding.Pct("most", top)))
	if j.withoutFoot() {
		j.out.Reason = append(j.out.Reason, finding.New(finding.NoFootOnClutch))
	}
	if j.opt.Rollers {
		j.out.Reason = append(j.out.Reason, finding.New(finding.RollersLookAlike))
	}
	if j.opt.DryRoad {
		j.out.Reason = append(j.out.Reason, finding.New(finding.DryAsTold))
	}
	if j.veh != nil && j.veh.DrivenWheels == 4 && j.veh.SpeedSource != vehicle.SourceGPS {
		j.warn(finding.FourWheelDrive)
	}
	j.pattern()
	j.againstRating()
}

// withoutFoot tells whether a switch shows that no foot had a part in any slip.
func (j *judge) withoutFoot() bool {
	for i, e := range j.out.Events {
		if e.Kind == detect.KindSlip && !j.events[i].footless {
			return false
		}
	}
	return true
}

// enoughPulls is how many full-load pulls "holds" asks for: one may have been a lucky one.
const enoughPulls = 3

// holding decides between holds and inconclusive when no slip was seen.
func (j *judge) holding() {
	full, tried := 0, 0
	for _, p := range j.out.Pulls {
		if !p.FullLoad {
			continue
		}
		tried++
		if p.Verdict == Holds {
			full++
		}
	}
	c := j.tooSlow()
	if c == nil {
		c = j.caveat()
	}
	if c == nil {
		c = j.untested(tried, full)
	}
	if c != nil {
		j.because(Inconclusive, c.reason)
		j.advise(c.next)
		return
	}
	j.because(Holds, j.held())
	if full < enoughPulls {
		j.advise(finding.New(finding.ThreePulls))
	}
	j.againstRating()
}

// caveat is why a clutch cannot be said to hold although no slip was seen, and what settles it.
type caveat struct{ reason, next finding.Finding }

// but is a caveat whose advice needs no values.
func but(next, reason finding.Code, values ...finding.Value) *caveat {
	return &caveat{finding.New(reason, values...), finding.New(next)}
}

// tooSlow returns why a link or a control unit is too slow for a clutch to be said to hold, nil when it is not.
func (j *judge) tooSlow() *caveat {
	switch refresh := j.cal.Model().Refresh; {
	case refresh > slowestHolds:
		return but(finding.FasterLink, finding.RefreshTooSlow, finding.Duration("every", refresh))
	case j.cal.Period > slowestHolds:
		return but(finding.FasterLink, finding.LinkTooSlow, finding.Duration("every", j.cal.Period))
	}
	return nil
}

// untested returns why the pulls of a log do not show that the clutch holds, nil when they do. tried full-load
// pulls were driven, and full of them held.
func (j *judge) untested(tried, full int) *caveat {
	best := j.mostSensitive(atFullLoad)
	switch {
	case len(j.out.Pulls) == 0:
		return but(finding.ThreePulls, finding.NothingAsked)
	case tried == 0 && j.blind():
		return but(finding.ThreePulls, finding.LoadNotRecorded, j.hardest()...)
	case tried == 0:
		return but(finding.ThreePulls, finding.NeverFullLoad, finding.EngineSpeed("above", pullingRPM(j.veh)))
	case full == 0 && best != nil && j.cal.Period > gearstate.SlowestLink:
		return but(finding.ThreePulls, finding.LinkHidesSlip, finding.Duration("every", j.cal.Period),
			finding.Pct("slip", *best.SmallestDetectable),
			finding.Duration("lasting", *best.SmallestSeconds))
	case full == 0 && best != nil:
		return but(finding.ThreePulls, finding.RoadHidesSlip, finding.Pct("slip", j.holdsBelow()))
	case full == 0:
		return but(finding.ThreePulls, finding.NoLongPull)
	}
	return nil
}
