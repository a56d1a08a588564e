package slip

import (
	"fmt"
	"math"
	"strings"

	"flywitness/analysis/detect"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/practice"
	"flywitness/vehicle"
)

// The slip (%) that must have been visible over most of a pull before it "holds": the best stretch of such a pull shows 3 %. The figure itself is always
// stated, and a clutch that begins to slip does not stop at 4 %. A slow link shows a long slip only, and a little less of it.
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
func (j *judge) judgePull(p *Pull, unseen string, slips, others int) {
	switch {
	case slips > 0:
		p.Verdict, p.Reason = Slips, "the engine ran away from the road speed"
	case others > 0:
		p.Verdict, p.Reason = Inconclusive, "something moved that may not be the clutch"
	case p.SmallestDetectable == nil:
		p.Verdict, p.Reason = Inconclusive, unseen
	case *p.SmallestDetectable > j.holdsBelow():
		p.Verdict = Inconclusive
		p.Reason = fmt.Sprintf("slip below %.1f %% would not have shown", *p.SmallestDetectable)
	default:
		p.Verdict = Holds
		p.Reason = fmt.Sprintf("%.1f %% lasting %.2g s would have shown", *p.SmallestDetectable, *p.SmallestSeconds)
	}
}

// verdict gives the log or the set of logs its verdict.
func (j *judge) verdict() {
	o := j.out
	j.summary()
	if reason := j.notJudged(); reason != "" {
		o.Verdict, o.Reason = Inconclusive, reason
		return
	}
	slips, proven := 0, false
	for i, e := range o.Events {
		if e.Kind == detect.KindSlip {
			slips++
			proven = proven || j.alone[i]
		}
	}
	seen := slips >= 2 || proven
	switch {
	case j.opt.beddingIn():
		j.notYet(seen)
	case seen && !j.isManual():
		o.Verdict = Inconclusive
		o.Reason = fmt.Sprintf("The engine ran away from the road speed under load %s, but the log does not show whether the gearbox is manual: one that "+
			"slips by design looks the same.", times(slips))
		o.WhatToDrive = append(o.WhatToDrive, "if the gearbox is manual, say so: --gearbox manual, or type = \"manual\" under [gearbox] in the vehicle file")
	case seen:
		j.slipping(slips)
	case slips > 0:
		o.Verdict = Inconclusive
		o.Reason = fmt.Sprintf("What looks like slip was seen %s, but too short or too coarse to be sure: repeat the pull once after the clutch has cooled.", times(slips))
		o.WhatToDrive = append(o.WhatToDrive, repeatPull)
	default:
		j.holding()
	}
}

const (
	repeatPull = "one short full-load pull in the same gear, after ten minutes of easy driving; lift at the first sign of slip"
	threePulls = "three full-load pulls in the highest legal gear from below the torque peak through it, the last one hot"
)

// What the log must show of the gearbox, in nats by which a kind that slips by design is the likelier.
const (
	looksDesigned = 2.2  // above, the log is not judged
	looksManual   = -3.0 // below, it may be called slipping without being told
)

// told is what is known of the gearbox's kind, "" when nothing is.
func (j *judge) told() vehicle.GearboxType {
	if j.veh != nil && j.veh.Gearbox.Type != "" {
		return j.veh.Gearbox.Type
	}
	return j.opt.Gearbox
}

// isManual tells whether the gearbox is told or shown to be manual.
func (j *judge) isManual() bool {
	return j.told() == vehicle.Manual || j.odds <= looksManual
}

// notJudged returns why this car or log is not judged at all.
func (j *judge) notJudged() string {
	told := j.told()
	if told != "" && told != vehicle.Manual {
		return fmt.Sprintf("The gearbox is %s: it slips a little by design, so only a manual gearbox is judged.",
			strings.ReplaceAll(string(told), "_", " "))
	}
	if len(j.cal.Gears) == 0 {
		return "The log does not show the gears: it has no driving to compare engine speed and road speed in. Nothing can be said about the clutch."
	}
	if j.cal.SpeedLag == nil {
		return "By how much road speed comes late could not be found, and a wrong delay looks like slip whenever the car speeds up: check the time stamps of the log."
	}
	if told == "" && j.odds > looksDesigned {
		return "The gearbox changes gear without a break of force, or the engine is not tied to the wheels in easy driving: this looks like an automatic, dual-clutch or " +
			"stepless gearbox, which slips by design, so it is not judged. If it is manual, say so: --gearbox manual, or type = \"manual\" under [gearbox] in the vehicle file."
	}
	return ""
}

// summary fills the figures of the log.
func (j *judge) summary() {
	o := j.out
	for i := range o.Events {
		e := &o.Events[i]
		if e.Kind == detect.KindSlip && e.OnsetTorque != nil && (o.OnsetTorque == nil || e.OnsetTorque.Value < o.OnsetTorque.Value) {
			o.OnsetTorque = e.OnsetTorque
		}
	}
	j.leastSensitive()
	o.HighestTorqueHeld = j.heldTorque()
}

// leastSensitive states the smallest slip that would have shown in the least sensitive of the full-load pulls that held; without any, in the most
// sensitive pull that there is.
func (j *judge) leastSensitive() {
	o := j.out
	var worst, best *Pull
	for i := range o.Pulls {
		p := &o.Pulls[i]
		switch {
		case p.SmallestDetectable == nil:
		case p.Verdict == Holds && j.full[i]:
			if worst == nil || *p.SmallestDetectable > *worst.SmallestDetectable {
				worst = p
			}
		case best == nil || *p.SmallestDetectable < *best.SmallestDetectable:
			best = p
		}
	}
	if worst == nil {
		worst = best
	}
	if worst != nil {
		size, seconds := *worst.SmallestDetectable, *worst.SmallestSeconds
		o.SmallestDetectable, o.SmallestSeconds = &size, &seconds
	}
}

func (j *judge) slipping(n int) {
	o := j.out
	o.Verdict = Slips
	top := 0.0
	for _, e := range o.Events {
		if e.Kind == detect.KindSlip {
			top = math.Max(top, e.PeakSlip)
		}
	}
	o.Reason = fmt.Sprintf("The clutch slipped %s under load, by up to %.0f %%.", times(n), top)
	if j.opt.Rollers {
		o.Reason += " On a rolling road a tyre that slips on the roller or a loose strap looks the same: watch both and repeat it once."
	}
	if j.veh != nil && j.veh.DrivenWheels == 4 && j.veh.SpeedSource != vehicle.SourceGPS {
		e := practice.Find(practice.FourWheelDrive)
		j.warn(string(e.Key), fmt.Sprintf("four-wheel drive: %s, so %s; %s and see whether it slips there too", e.Shows, e.Does, e.Next))
	}
	j.pattern()
	j.againstRating()
}

func times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

// holding decides between holds and inconclusive when no slip was seen.
func (j *judge) holding() {
	o := j.out
	o.Verdict = Inconclusive
	full, tried := 0, 0
	for i, p := range o.Pulls {
		if !j.full[i] {
			continue
		}
		tried++
		if p.Verdict == Holds {
			full++
		}
	}
	reason, next := j.tooSlow(), fasterLink
	if reason == "" {
		reason, next = j.caveat()
	}
	if reason == "" {
		reason, next = j.untested(tried, full), threePulls
	}
	if reason == "" {
		o.Verdict = Holds
		o.Reason = j.heldWords()
		if full < 3 {
			o.WhatToDrive = append(o.WhatToDrive, threePulls)
		}
		j.againstRating()
		return
	}
	o.Reason = reason
	o.WhatToDrive = append(o.WhatToDrive, next)
}

const fasterLink = "poll fewer channels, or use a faster link"

// tooSlow returns why a link or a control unit is too slow for a clutch to be said to hold, "" when it is not.
func (j *judge) tooSlow() string {
	switch refresh := j.cal.Model().Refresh; {
	case refresh > slowestHolds:
		return fmt.Sprintf("No sure slip was seen, but the control unit refreshed road speed only every %.1f s, however often it was asked: too slow to prove that the clutch "+
			"holds. A satellite receiver of 5 Hz or more does.", refresh)
	case j.cal.Period > slowestHolds:
		return fmt.Sprintf("No sure slip was seen, but a value came only every %.1f s: too slow to prove that the clutch holds; %s.", j.cal.Period, fasterLink)
	}
	return ""
}

// untested returns why the pulls of a log do not show that the clutch holds, "" when they do. tried full-load pulls were driven, and full of them held.
func (j *judge) untested(tried, full int) string {
	o := j.out
	switch {
	case len(o.Pulls) == 0:
		return "The engine was never asked for much in this log, so it shows nothing about the clutch."
	case tried == 0 && j.blind():
		return "No slip seen, but neither throttle nor load was recorded and no pull was hard enough, so whether the clutch was put to the test is not known: " +
			"record one of them, or give a vehicle file with mass, tyre and ratios."
	case tried == 0:
		return fmt.Sprintf("No slip seen, but the engine was never at full load above %.0f rpm: the clutch was not put to the test.", pullingRPM(j.veh))
	case full == 0 && o.SmallestDetectable != nil && j.cal.Period > gearstate.SlowestLink:
		return fmt.Sprintf("No slip seen, but with a value every %.1f s one below %.2g %% lasting %.2g s could not have been told in the full-load pulls: %s, and pull for six seconds "+
			"and longer.", j.cal.Period, *o.SmallestDetectable, *o.SmallestSeconds, fasterLink)
	case full == 0 && o.SmallestDetectable != nil:
		return fmt.Sprintf("No slip seen, but in the full-load pulls one below %.2g %% could not have been told from tyres, timing and the steps of road speed.", j.holdsBelow())
	case full == 0:
		return "No slip seen, but no pull was long and steady enough to show a small one."
	}
	return ""
}
