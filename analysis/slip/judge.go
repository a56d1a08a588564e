package slip

import (
	"math"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/gearstate"
	"flywitness/drive"
	"flywitness/vehicle"
)

// Options is what the job knows beside logs and vehicle.
type Options struct {
	Rollers       bool     // driven on a rolling road
	KmSinceFitted *float64 // km since the clutch was fitted; nil: not told
	BedInKm       *float64 // km that its maker asks for before full load; nil: not told
}

// Judge tells whether the clutch slips under load. tracks[i] is logs[i] decoded with cal; veh may be nil: what needs it is then nil and a
// warning says so. Nothing is changed.
func Judge(logs []*drive.Log, tracks []*gearstate.Track, veh *vehicle.Vehicle, cal *calibrate.Calibration, opt Options) (*Finding,
	[]drive.Warning) {
	j := &judge{veh: veh, cal: cal, opt: opt, force: newRoadForce(veh, opt.Rollers)}
	j.force.undisplay(cal)
	j.out = &Finding{Pulls: []Pull{}, Events: []Event{}, Engagements: []Engagement{}, LikelyCauses: []string{}, WhatToDrive: []string{}}
	for i, t := range tracks {
		j.records = append(j.records, newRecord(i, t))
	}
	j.look()
	if j.blind() {
		j.fullByTorque()
	}
	j.verdict()
	j.checkTorqueChannel(logs)
	j.out.TorqueBasis = j.torqueBasis()
	j.out.Road = j.force.told()
	return j.out, j.warnings
}

// judge carries one judgement.
type judge struct {
	veh      *vehicle.Vehicle
	cal      *calibrate.Calibration
	opt      Options
	force    *roadForce
	records  []*record
	out      *Finding
	warnings []drive.Warning
	full     []bool // of each pull: full load was reached
}

func (j *judge) warn(code, message string) {
	j.warnings = append(j.warnings, drive.Warning{Code: code, Message: message})
}

// look finds pulls, events and engagements in every record.
func (j *judge) look() {
	found := make([][][]candidate, len(j.records)) // of each record and stretch
	stretches := make([][]stretch, len(j.records))
	for q, r := range j.records {
		if r.track.Len() > 0 {
			stretches[q], found[q] = r.find()
		}
	}
	j.survey()
	for q, r := range j.records {
		r.measureAll(found[q], j.force)
	}
	confirmed(j.records, found)
	for q, r := range j.records {
		if r.track.Len() == 0 {
			j.out.Traces = append(j.out.Traces, Trace{})
			continue
		}
		for i := range stretches[q] {
			j.addPull(r, &stretches[q][i], found[q][i])
		}
		j.out.Engagements = append(j.out.Engagements, r.engagements(j.force)...)
		j.out.Traces = append(j.out.Traces, r.trace(j.force))
	}
}

// find returns the stretches of a record and the events of each. Engine speed is no road speed during an event: road speed is estimated without it
// first widely about every hit, then again as closely as the events tell.
func (r *record) find() ([]stretch, [][]candidate) {
	stretches := r.stretches()
	hits := make([][][2]int, len(stretches))
	for i := range stretches {
		s := &stretches[i]
		hits[i] = r.hits(s.lo, s.hi, s.run.index)
		for _, h := range hits[i] {
			r.slips = append(r.slips, span{r.track.T[h[0]] - 0.8, r.track.T[h[1]-1] + 0.5})
		}
	}
	r.smoothWithout(r.slips)
	found := make([][]candidate, len(stretches))
	for i := range stretches {
		found[i] = r.candidates(&stretches[i], hits[i])
	}
	r.slips = r.closely(found)
	r.smoothWithout(r.slips)
	r.fit = r.fitOf()
	return stretches, found
}

// measureAll measures and classifies the events of a record.
func (r *record) measureAll(found [][]candidate, f *roadForce) {
	for i := range found {
		for q := range found[i] {
			c := &found[i][q]
			r.measure(c, f)
			c.Kind = r.classify(c)
			c.Confidence = r.confidence(c)
		}
	}
}

// confirmed turns wheelspin, and a clutch that was slow to take hold after a shift, into slip where the same logs hold the proof: a sure slip
// of the clutch, in any gear, at no more torque. Torque is wheel force over the gearing, which is the clutch's but for a factor that
// all events share; more than a third above what the clutch let go at is another gear.
func confirmed(records []*record, found [][][]candidate) {
	torque := func(r *record, c *candidate) float64 {
		return r.push(c.run, c.Start-0.5, c.Start+1) / r.track.Model.Gears[c.run.index].K
	}
	lowest, highest := math.Inf(1), 0.0
	each := func(do func(r *record, c *candidate)) {
		for q, r := range records {
			for i := range found[q] {
				for n := range found[q][i] {
					do(r, &found[q][i][n])
				}
			}
		}
	}
	each(func(r *record, c *candidate) {
		if c.Kind == KindSlip {
			x := torque(r, c)
			lowest, highest = min(lowest, x), max(highest, x)
		}
	})
	each(func(r *record, c *candidate) {
		spun := c.Kind == KindWheelspin && c.locked && c.run.gear >= 2
		slow := c.Kind == KindEngagement && c.run.gear >= 3 && r.withoutLift(c) >= 1.5+r.period
		if x := torque(r, c); (spun || slow) && x >= 0.95*lowest && x <= 1.3*highest {
			c.Kind = KindSlip
			c.Confidence = r.confidence(c)
		}
	})
}

// addPull puts a stretch and its events into the finding.
func (j *judge) addPull(r *record, s *stretch, found []candidate) {
	p := r.judgePull(s, j.force)
	slips, heat := 0, 0.0
	for q := range found {
		c := &found[q]
		if !j.seen(c) {
			c.alone = r.alone(c)
			j.out.Events = append(j.out.Events, c.Event)
		}
		if c.Kind == KindSlip {
			slips++
			p.MaxSlip = max(p.MaxSlip, c.PeakSlip)
		}
		if c.Energy != nil {
			heat += *c.Energy
		}
	}
	if j.force.known() {
		p.Heat = &heat
	}
	j.judge(&p, s, slips, len(found)-slips)
	j.out.Pulls = append(j.out.Pulls, p)
	j.full = append(j.full, s.full)
}

// seen tells whether an event is the last one again: an event that spans a lapse of load is found from the stretch on either side.
func (j *judge) seen(c *candidate) bool {
	n := len(j.out.Events)
	return n > 0 && j.out.Events[n-1].Input == c.Input && c.Start < j.out.Events[n-1].End
}

// trace is the drive for charts.
func (r *record) trace(f *roadForce) Trace {
	t := r.track
	n := t.Len()
	tr := Trace{T: t.T, SpeedKmh: t.SpeedKmh, RPM: t.RPM, Segments: t.Segments, LockedRPM: make([]float64, n), SlipPct: make([]float64, n),
		TorqueNm: make([]float64, n), Slope: make([]float64, n), SlopeSD: make([]float64, n)}
	for i := range n {
		tr.LockedRPM[i] = t.LockedRPM(i)
		tr.SlipPct[i] = 100 * r.slipAt(i)
		tr.TorqueNm[i] = r.clutchAt(f, t.Gear[i], i)
		tr.SlopeSD[i] = r.slopeError(i)
		if r.slope != nil {
			tr.Slope[i] = r.slope[i]
		}
	}
	return tr
}
