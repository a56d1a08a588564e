package calibrate

import (
	"math"
	"slices"
	"sync"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/vehicle"
)

const (
	leastMoving = 20.0   // s of driving from which there is something to learn
	finestLag   = 0.005  // s; no delay is known better,
	coarseLag   = 0.04   // or than this part of an interval on a coarse link
	finestCreep = 0.002  // no creep is known better
	finestGear  = 0.0005 // relative; no gear is known better
)

// Learn learns from all logs of one car how its signals belong together. veh may be nil or without ratios: the
// gear ladder is then found blind. What cannot be had is nil or empty, and a warning says why; the calibration
// itself is never nil.
func Learn(logs []*drive.Log, veh *vehicle.Vehicle) (*Calibration, []finding.Finding) {
	return gather(logs, veh).learn(veh)
}

// LearnAndRead is Learn. It hands on what it read of each log, for DecodeSignals, and calls read once no log is needed
// any more. Accelerations are worked out beside the fits, which leave a core alone for long.
func LearnAndRead(logs []*drive.Log, veh *vehicle.Vehicle, read func()) (*Calibration, []gearstate.Signals,
	[]finding.Finding) {
	p := gather(logs, veh)
	read()
	accel := make([][]float64, len(p.signals))
	var beside sync.WaitGroup
	for i, s := range p.signals {
		beside.Go(func() { accel[i] = s.Accelerations(p.period) })
	}
	cal, warnings := p.learn(veh)
	beside.Wait()
	for i := range p.signals {
		p.signals[i].Accel = accel[i]
	}
	return cal, p.signals, warnings
}

// learn learns from what was gathered of the logs.
func (p *pool) learn(veh *vehicle.Vehicle) (*Calibration, []finding.Finding) {
	cal := &Calibration{SpeedChannel: p.channel, SpeedStep: p.step, SpeedRounding: "unknown", SpeedSource: "unknown",
		Period: p.period,
		Gears:  []Gear{}, OffFile: []int{}}
	cal.model = gearstate.Model{SpeedChannel: p.channel, Step: p.step, RPMStep: p.rpmStep, Period: p.period,
		Refresh: p.refresh, Averaged: p.averaged, Idle: p.idle, TimingSD: usualTiming}
	cal.logs = len(p.logs)
	var warnings []finding.Finding
	warn := func(code finding.Code, values ...finding.Value) {
		warnings = append(warnings, finding.New(code, values...))
	}
	if len(p.logs) == 0 {
		warn(finding.NoSignals)
		return cal, warnings
	}
	cal.model.Load = p.load
	if p.moving < leastMoving {
		warn(finding.NothingDriven, finding.Speed("above", minMoving), finding.Duration("driven", p.moving))
		return cal, warnings
	}
	lag := p.sharpestLag()
	p.align(lag)
	rungs, told := p.ladder(lag, veh, warn)
	if len(rungs) == 0 {
		warn(finding.NoLadder, finding.Duration("driven", p.moving))
		return cal, warnings
	}
	lag = p.profileLag(rungs, lag, -p.adds)
	first, _ := p.pickRounding(rungs, lag, nil)
	rungs = first.rungs(rungs)
	l := &learner{pool: p, cal: cal, veh: veh, told: told, warn: warn}
	l.second(rungs, first)
	return cal, warnings
}

// ladder finds the rungs: those of the vehicle file if the log bears them out, with what the dial adds where it only
// does so then, else blind.
func (p *pool) ladder(lag float64, veh *vehicle.Vehicle,
	warn func(code finding.Code, values ...finding.Value)) (rungs []rung, told bool) {
	h := p.histogram(lag, 0)
	rungs, told = known(h, veh)
	stray := 0.0
	if told {
		stray, _ = strays(rungs, veh)
	}
	if told && stray <= FileApart {
		return rungs, true
	}
	if r, adds, ok := p.knownByDial(lag, veh, stray); ok {
		p.adds = adds
		return r, true
	}
	if told {
		return rungs, true
	}
	filed := rungs
	rungs = peaks(h)
	if veh != nil && len(veh.Gearbox.Ratios) > 1 && len(rungs) > 0 {
		warn(finding.RatiosRefused)
		p.refuse(filed)
	}
	p.number(rungs)
	return rungs, false
}

// refuse keeps the ladder of a file that is refused, by which the log's gears are numbered all the same.
func (p *pool) refuse(filed []rung) {
	for _, r := range filed {
		p.filed = append(p.filed, math.Log(r.k))
	}
}

// learner is the second look: with the gears decoded, only settled driving at moderate torque is used.
type learner struct {
	pool *pool
	cal  *Calibration
	veh  *vehicle.Vehicle
	told bool // the ladder is that of the vehicle file
	warn func(code finding.Code, values ...finding.Value)
}

func (l *learner) second(rungs []rung, s *solution) {
	p := l.pool
	certain := false
	var c *choice
	var tracks []*gearstate.Track
	for pass := range 3 {
		l.setModel(rungs, s)
		tracks = p.decode(l.cal.model, tracks)
		if l.told && pass == 0 && l.lacks(rungs, s, tracks) {
			l.told = false
			p.refuse(rungs)
			l.warn(finding.RatiosRefused)
		}
		if l.told || pass == 2 {
			break
		}
		changed := p.driven(rungs, tracks)
		if pass == 0 {
			changed = p.missing(tracks, changed)
		}
		if slices.Equal(changed, rungs) || len(changed) == 0 {
			break
		}
		rungs = changed
		s = p.fit(rungs, s.lag, s.offset, nil, p.fitRows(nil))
		rungs = s.rungs(rungs)
	}
	c = p.settled(tracks, &l.cal.model)
	s, certain = p.pickRounding(rungs, s.lag, c)
	source, nats := l.source(l.tellsDriven(rungs, s, c))
	l.cal.model.DrivenNats = nats
	if source == "driven" {
		if l.toldSource() != "driven" { // it is known no better than it was told
			l.cal.model.CreepSD = s.sd(len(rungs) + 1)
		}
		c.phi = nil
		s, certain = p.pickRounding(rungs, s.lag, c)
	}
	fitted := s.rungs(rungs)
	l.tie(fitted, s)
	l.report(fitted, s, c, certain, source, tracks)
}

// lacks tells whether the car was driven in a gear that the vehicle file does not have, while one that it has
// was not driven in.
func (l *learner) lacks(rungs []rung, s *solution, tracks []*gearstate.Track) bool {
	var seen []rung
	for i, r := range rungs {
		if s.seconds[i] >= WellDriven || r.seen != 0 {
			seen = append(seen, r)
		}
	}
	if len(seen) == len(rungs) {
		return false
	}
	n := 0
	for _, r := range l.pool.missing(tracks, seen) {
		if r.k <= rungs[0].k*oneGear { // below first gear a clutch is let in
			n++
		}
	}
	return n > len(seen)
}

// decode decodes every log; again, where there are tracks of before.
func (p *pool) decode(m gearstate.Model, tracks []*gearstate.Track) []*gearstate.Track {
	again := tracks != nil
	if !again {
		tracks = make([]*gearstate.Track, len(p.logs))
	}
	var all sync.WaitGroup
	for i, s := range p.logs {
		all.Go(func() {
			if again {
				tracks[i].DecodeAgain(s.Signals, m)
			} else {
				tracks[i] = gearstate.DecodeSignals(s.Signals, m)
			}
		})
	}
	all.Wait()
	return tracks
}

// leastDriven is how long a gear that was found blind must have been locked, s, to be one.
const leastDriven = 3.0

// driven returns the rungs in which the car was really driven: a flare or a spinning wheel can look like a gear
// for a moment.
func (p *pool) driven(rungs []rung, tracks []*gearstate.Track) []rung {
	locked := map[int]float64{}
	for _, t := range tracks {
		for i := 1; i < t.Len(); i++ {
			if t.Clutch[i] == gearstate.Locked && t.Gear[i] == t.Gear[i-1] {
				locked[int(t.Gear[i])] += standsFor(t.T, i, p.period)
			}
		}
	}
	var out []rung
	for _, r := range rungs {
		if locked[r.number] >= leastDriven {
			out = append(out, r)
		}
	}
	p.number(out)
	return out
}

// setModel makes the decoder's model of the present solution.
func (l *learner) setModel(rungs []rung, s *solution) {
	m := &l.cal.model
	m.Gears = m.Gears[:0:0]
	for i, r := range rungs {
		m.Gears = append(m.Gears, gearstate.Gearing{Number: r.number, K: r.k, SD: s.sd(i) * r.k * r.k})
	}
	m.Lag, m.LagSD, m.Offset, m.Creep = s.lag, math.Max(finestLag, s.sd(len(rungs))), s.offset, math.Max(0, s.creep)
}

// report fills the calibration from the final fit.
func (l *learner) report(rungs []rung, s *solution, c *choice, certain bool, source string,
	tracks []*gearstate.Track) {
	cal, p, m := l.cal, l.pool, &l.cal.model
	l.setModel(rungs, s)
	m.Complete = l.told
	cal.TimingSD = p.timing(s, c)
	m.TimingSD = cal.TimingSD
	lagSD := math.Max(finestLag, s.sd(len(rungs)))
	if p.coarse {
		lagSD = math.Max(lagSD, coarseLag*p.period)
	}
	m.LagSD = lagSD
	low, high := p.lags()
	if s.lag > low+finestLag && s.lag < high-finestLag {
		cal.SpeedLag = stats.Normal(s.lag, lagSD)
	} else {
		l.warn(finding.LagOpen, finding.Duration("from", low), finding.Duration("to", high))
	}
	switch {
	case p.step == 0 || certain && !s.cutOff():
		cal.SpeedRounding = "round"
	case certain:
		cal.SpeedRounding = "floor"
	default:
		l.warn(finding.RoundingOpen)
	}
	if p.coarse {
		l.warn(finding.SlowLink, slowness(p)...)
	}
	if p.averaged > 0 {
		l.warn(finding.AveragedValues, finding.Duration("over", p.averaged))
	}
	cal.SpeedSource = source
	if m.MayCreep = source != "driven"; m.MayCreep {
		m.CreepSD = math.Max(finestCreep, s.sd(len(rungs)+1))
		cal.Creep = stats.Normal(m.Creep, m.CreepSD)
	}
	k := make([]float64, len(rungs))
	for i, r := range rungs {
		k[i] = r.k
	}
	m.Force = p.forceMap(tracks, c, k)
	for i := range rungs {
		r := &rungs[i]
		m.Gears[i].SD, m.Gears[i].V0 = r.near, s.speed(i, l.told)
		cal.Gears = append(cal.Gears, Gear{Gear: r.number, RPMPerKmh: stats.Normal(r.k, r.sd), Seconds: r.seconds})
	}
}

// slowness is how often values came, and why no oftener.
func slowness(p *pool) []finding.Value {
	every := finding.Duration("every", p.period)
	if p.stampStep >= gearstate.CoarseStamps {
		return []finding.Value{every, finding.Duration("stamps", p.stampStep)}
	}
	return []finding.Value{every, finding.Flag("refresh", p.refresh > 0.5*p.period)}
}
