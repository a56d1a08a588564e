package slip

import (
	"sync"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/detect"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/parts"
	"flywitness/vehicle"

	"gonum.org/v1/gonum/floats"
)

// Options is what the job knows beside logs and vehicle.
type Options struct {
	Rollers       bool     // driven on a rolling road
	DryRoad       bool     // driven on a paved road that was dry throughout
	KmSinceFitted *float64 // km since the clutch was fitted; nil: not told
	BedInKm       *float64 // km that its maker asks for before full load; nil: not told

	Gearbox vehicle.GearboxType // where the vehicle file does not say; "" when nobody does

	TakeTracks bool // nobody needs the tracks any more: Judge changes them, and takes less memory
	NoTraces   bool // nobody draws the drives or fits a torque curve to them: Finding.Traces stays empty
}

// Judge tells whether the clutch slips under load. tracks[i] is logs[i] decoded with cal; veh may be nil: what
// needs it is then nil and a warning says so. Nothing is changed but for tracks that it may take.
func Judge(logs []*drive.Log, tracks []*gearstate.Track, veh *vehicle.Vehicle, cal *calibrate.Calibration,
	opt Options) (*Finding,
	[]finding.Finding) {
	j := &judge{veh: veh, cal: cal, opt: opt, force: motion.NewForce(veh, opt.Rollers)}
	for _, l := range logs {
		j.names = append(j.names, l.Path)
	}
	j.force.Undisplay(display(veh, cal))
	j.out = &Finding{Pulls: []Pull{}, Events: []Event{}, Engagements: []Engagement{}, LikelyCauses: []finding.Text{},
		WhatToDrive: []finding.Text{}}
	motions := make([]*motion.Record, len(tracks))
	record := motion.New
	if opt.TakeTracks {
		record = motion.Take
	}
	var wait sync.WaitGroup
	for i, t := range tracks {
		wait.Go(func() {
			motions[i] = record(i, t)
			motions[i].TakeHeights(logs[i])
			motions[i].TakeClutchSwitch(logs[i])
		})
	}
	wait.Wait()
	j.records = detect.Find(motions, j.force, detect.Told{DryRoad: opt.DryRoad})
	if j.told() == "" {
		j.odds = detect.GearboxOdds(j.records)
	}
	if j.proved = detect.Proved(j.records); j.proved {
		if j.manual = j.isManual(); j.manual {
			detect.SlipsAgain(j.records)
		}
	}
	j.look()
	if j.blind() {
		j.fullByForce()
	}
	j.verdict()
	j.checkTorqueChannel(logs)
	j.out.TorqueBasis = j.torqueBasis()
	if veh != nil && veh.Clutch != nil && veh.Clutch.TorqueRating > 0 {
		rating := veh.Clutch.TorqueRating
		j.out.TorqueRating = &rating
	}
	j.out.Road = j.force.Road()
	return j.out, j.warnings
}

// pullNote is what is known of a pull beside what is told of it.
type pullNote struct {
	top    float64         // the highest engine speed, rpm
	torque *stats.Estimate // how hard it was: wheel force over weight and gearing, the engine's torque but for a factor,
	power  float64         // and W/kg
}

// eventNote is what is known of an event beside what is told of it.
type eventNote struct {
	sure     bool            // slip, whatever else is known of the clutch
	suspect  bool            // it may be slip after all
	footless bool            // no foot had a part in it, as a switch shows
	onset    *stats.Estimate // wheel force over weight and gearing when it began
	shared   float64         // N m, of its onset torque's standard deviation what all of a car have in common
	heat     float64         // its heat but for a factor
	kept     *stats.Estimate // what the clutch carried as it slid, of what it had held
}

// judge carries one judgement.
type judge struct {
	veh      *vehicle.Vehicle
	cal      *calibrate.Calibration
	opt      Options
	force    *motion.Force
	names    []string // of the logs
	records  []*detect.Record
	odds     float64 // nats by which the records show a gearbox that slips by design
	proved   bool    // slip was seen for sure, be it of a gearbox that does by design,
	manual   bool    // or of a clutch
	out      *Finding
	warnings []finding.Finding
	pulls    []pullNote  // of each pull,
	events   []eventNote // and of each event, what is not told
	rests    []rest      // of pulls with slip, what they held afterwards
}

func (j *judge) warn(code finding.Code, values ...finding.Value) {
	j.warnings = append(j.warnings, finding.New(code, values...))
}

// because gives a log a verdict for a reason.
func (j *judge) because(v Verdict, reason ...finding.Finding) {
	j.out.Verdict, j.out.Reason = v, reason
}

// advise adds something to drive.
func (j *judge) advise(f finding.Finding) {
	j.out.WhatToDrive = append(j.out.WhatToDrive, finding.Say(f))
}

// look puts what was found in every record into the finding.
func (j *judge) look() {
	for _, r := range j.records {
		if r.Track.Len() == 0 {
			if !j.opt.NoTraces {
				j.out.Traces = append(j.out.Traces, Trace{})
			}
			continue
		}
		shown := make([]shownByPull, len(r.Pulls))
		var engagements []Engagement
		var beside sync.WaitGroup
		beside.Go(func() { engagements = r.Engagements(j.force) })
		parts.Every(len(shown), func(i int) { shown[i] = j.shownBy(r, &r.Pulls[i]) })
		beside.Wait()
		for i := range r.Pulls {
			j.addPull(r, &r.Pulls[i], &shown[i])
		}
		j.out.Engagements = append(j.out.Engagements, engagements...)
		if !j.opt.NoTraces {
			j.out.Traces = append(j.out.Traces, trace(r, j.force))
		}
	}
}

// shownByPull is what a pull shows whatever the others do.
type shownByPull struct {
	visible *detect.Visible
	unseen  finding.Code
	maxSlip float64
	peak    *stats.Estimate
	torque  *stats.Estimate
	power   float64
	full    bool
}

func (j *judge) shownBy(r *detect.Record, found *detect.Pull) (s shownByPull) {
	s.visible, s.unseen = r.Visible(found)
	s.maxSlip = r.MaxSlip(found)
	s.peak = r.PeakTorque(found, j.force)
	s.torque, s.power = r.Demand(found)
	s.full = r.FullLoad(found, pullingRPM(j.veh))
	return s
}

// addPull puts a pull and its departures into the finding.
func (j *judge) addPull(r *detect.Record, found *detect.Pull, shown *shownByPull) {
	t := r.Track
	p := Pull{Input: r.Input, Start: t.T[found.Lo], End: t.T[found.Hi-1], Gear: found.Run.Gear,
		FullLoad: shown.full}
	seen := shown.visible
	if seen != nil {
		p.SmallestDetectable, p.SmallestSeconds = &seen.Pct, &seen.Seconds
	}
	p.MaxSlip, p.PeakTorque = shown.maxSlip, shown.peak
	slips, heat := 0, 0.0
	for q := range found.Departures {
		d := &found.Departures[q]
		if !d.Repeats {
			j.out.Events = append(j.out.Events, d.Event)
			j.events = append(j.events, eventNote{sure: d.Odds >= detect.Proven, footless: d.WithoutFoot(),
				suspect: j.isSuspect(d), onset: r.OnsetDemand(d), shared: d.OnsetShared, heat: d.Heat, kept: d.Kept()})
		}
		if d.Kind == detect.KindSlip {
			slips++
			p.MaxSlip = max(p.MaxSlip, d.PeakSlip)
		}
		if d.Energy != nil {
			heat += *d.Energy
		}
	}
	if j.force.Known() {
		p.Heat = &heat
	}
	if slips > 0 {
		j.addRest(r, found)
	}
	j.judgePull(&p, shown.unseen, slips, len(found.Departures)-slips)
	if p.Verdict == Holds {
		p.HeldTorque = r.HeldTorque(found, j.force, *seen)
	}
	j.out.Pulls = append(j.out.Pulls, p)
	j.pulls = append(j.pulls, pullNote{floats.Max(t.RPM[found.Lo:found.Hi]), shown.torque, shown.power})
}

// trace is the drive for charts.
func trace(r *detect.Record, f *motion.Force) Trace {
	t := r.Track
	n := t.Len()
	tr := Trace{T: t.T, SpeedKmh: t.SpeedKmh, RPM: t.RPM, Segments: t.Segments, LockedRPM: make([]float64, n),
		SlipPct:  make([]float64, n),
		TorqueNm: make([]float64, n), Slope: make([]float64, n), SlopeSD: make([]float64, n)}
	var wait sync.WaitGroup
	wait.Go(func() {
		for i := range n {
			tr.LockedRPM[i] = t.LockedRPM(i)
			tr.SlipPct[i] = 100 * r.SlipAt(i)
		}
	})
	for i := range n {
		tr.TorqueNm[i] = r.ClutchTorque(f, int(t.Gear[i]), i)
		tr.Slope[i], tr.SlopeSD[i] = r.Slope(i)
	}
	wait.Wait()
	return tr
}

// pullingRPM is the engine speed from which full load is not far from the most that the engine gives: a third of its
// limit, where that is not known of the lowest limit of road cars, a diesel's. Full load below it is a foot that
// labours a slow engine, and tests no clutch. An engine that turned atItsBest times as fast has shown the most of its
// torque; of one that did not it is said how fast it turned. Common practice, no source.
func pullingRPM(veh *vehicle.Vehicle) float64 {
	if veh != nil && veh.Engine.LimitRPM > 0 {
		return veh.Engine.LimitRPM / 3
	}
	return lowestLimit / 3
}

const (
	lowestLimit = 4500.0 // rpm
	atItsBest   = 2.0
)

// display is by how much road speed is displayed too high, as a factor: the gears' engine speed per true road
// speed, by the vehicle file, over that per displayed one, as learnt. 1 where the file does not tell.
func display(veh *vehicle.Vehicle, cal *calibrate.Calibration) float64 {
	if veh == nil {
		return 1
	}
	var ratio []float64
	for _, g := range cal.Gears {
		if k := veh.RPMPerKmh(g.Gear); k > 0 {
			ratio = append(ratio, k/g.RPMPerKmh.Value)
		}
	}
	if len(ratio) == 0 {
		return 1
	}
	return stats.Median(ratio)
}
