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

// judge gives a pull its verdict.
func (j *judge) judge(p *Pull, unseen string, slips, others int) {
	switch {
	case slips > 0:
		p.Verdict, p.Reason = Slips, "the engine ran away from the road speed"
	case others > 0:
		p.Verdict, p.Reason = Inconclusive, "something moved that may not be the clutch"
	case p.SmallestDetectable == nil:
		p.Verdict, p.Reason = Inconclusive, unseen
	case *p.SmallestDetectable > holdsBelow:
		p.Verdict = Inconclusive
		p.Reason = fmt.Sprintf("slip below %.1f %% would not have shown", *p.SmallestDetectable)
	default:
		p.Verdict = Holds
		p.Reason = fmt.Sprintf("slip above %.1f %% would have shown", *p.SmallestDetectable)
		p.HeldTorque = p.PeakTorque
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
	seen := (slips >= 2 || proven) && j.cal.Period <= detect.Slowest
	switch {
	case j.opt.beddingIn():
		j.notYet(seen)
	case seen:
		j.slipping(slips)
	case slips > 0:
		o.Verdict = Inconclusive
		o.Reason = "One short slip was seen, which one disturbance could have made: repeat the pull once after the clutch has cooled."
		o.WhatToDrive = append(o.WhatToDrive, repeatPull)
	default:
		j.holding()
	}
}

const (
	repeatPull = "one short full-load pull in the same gear, after ten minutes of easy driving; lift at the first sign of slip"
	threePulls = "three full-load pulls in the highest legal gear from below the torque peak through it, the last one hot"
)

// notJudged returns why this car or log is not judged at all.
func (j *judge) notJudged() string {
	if j.veh != nil && j.veh.Gearbox.Type != "" && j.veh.Gearbox.Type != vehicle.Manual {
		return fmt.Sprintf("The gearbox is %s: it slips a little by design, so only a manual gearbox is judged.",
			strings.ReplaceAll(string(j.veh.Gearbox.Type), "_", " "))
	}
	if len(j.cal.Gears) == 0 {
		return "The log does not show the gears: it has no driving to compare engine speed and road speed in. Nothing can be said about the clutch."
	}
	if j.cal.SpeedLag == nil {
		return "By how much road speed comes late could not be found, and a wrong delay looks like slip whenever the car speeds up: check the time stamps of the log."
	}
	if share := j.looseShare(); share > 0.4 {
		return fmt.Sprintf("The engine is tied to the wheels for only %.0f %% of the easy driving: this looks like an automatic, dual-clutch or stepless gearbox, "+
			"which slips by design, so it is not judged.", 100*(1-share))
	}
	return ""
}

// looseShare is the part of driving at light throttle in which the clutch is not seen locked in a gear. A manual clutch that slips at full
// load is locked there; a torque converter is not. 0 with less than a minute of such driving.
func (j *judge) looseShare() float64 {
	loose, all := 0.0, 0.0
	for _, r := range j.records {
		t := r.Track
		for i := 1; i < t.Len(); i++ {
			dt := t.T[i] - t.T[i-1]
			if dt > 3 || t.SpeedKmh[i] < detect.PullSpeed || !(t.Load[i] > 0.1 && t.Load[i] < detect.LoadedFrom) || math.IsNaN(t.RPM[i]) {
				continue
			}
			all += dt
			if t.Clutch[i] != gearstate.Locked {
				loose += dt
			}
		}
	}
	if all < 60 {
		return 0
	}
	return loose / all
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
	for _, p := range o.Pulls {
		if p.SmallestDetectable != nil && (o.SmallestDetectable == nil || *p.SmallestDetectable < *o.SmallestDetectable) {
			x := *p.SmallestDetectable
			o.SmallestDetectable = &x
		}
	}
	o.HighestTorqueHeld = j.heldTorque()
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
	full, tried, doubt := 0, 0, j.doubt()
	for i, p := range o.Pulls {
		if !j.full[i] {
			continue
		}
		tried++
		if p.Verdict == Holds {
			full++
		}
	}
	switch {
	case len(o.Pulls) == 0:
		o.Reason = "The engine was never asked for much in this log, so it shows nothing about the clutch."
	case j.cal.Model().Refresh > detect.Slowest:
		o.Reason = fmt.Sprintf("No slip seen, but the control unit refreshed road speed only every %.1f s, however often it was asked: too slow to prove that the clutch "+
			"holds. A satellite receiver of 5 Hz or more does.", j.cal.Model().Refresh)
	case j.cal.Period > detect.Slowest:
		o.Reason = fmt.Sprintf("No slip seen, but a value came only every %.1f s: too slow to prove that the clutch holds.", j.cal.Period)
	case tried == 0 && j.blind():
		o.Reason = "No slip seen, but neither throttle nor load was recorded and no torque is known, so whether the clutch was put to the test is not either: " +
			"record one of them, or give a vehicle file with mass, tyre and ratios."
	case tried == 0:
		o.Reason = fmt.Sprintf("No slip seen, but the engine was never at full load above %.0f rpm: the clutch was not put to the test.", pullingRPM(j.veh))
	case full == 0 && o.SmallestDetectable != nil:
		o.Reason = fmt.Sprintf("No slip seen, but in the full-load pulls one below %.2g %% could not have been told from tyres, timing and the steps of road speed.", holdsBelow)
	case full == 0:
		o.Reason = "No slip seen, but no pull was long and steady enough to show a small one."
	case doubt != "":
		o.Reason = doubt
	default:
		o.Verdict = Holds
		o.Reason = j.heldWords()
		if full < 3 {
			o.WhatToDrive = append(o.WhatToDrive, threePulls)
		}
		j.againstRating()
		return
	}
	o.WhatToDrive = append(o.WhatToDrive, threePulls)
}

// holdsBelow is the slip (%) that must have been visible over most of a pull before it "holds": the best second and a half of such a pull shows 3 %. The
// figure itself is always stated, and a clutch that begins to slip does not stop at 4 %.
const holdsBelow = 4.0
