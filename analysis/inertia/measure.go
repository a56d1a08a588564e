package inertia

import (
	"cmp"
	"slices"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/vehicle"
)

// Measure finds the runs of a set of logs of one side and what they tell of its inertia. cal may be nil: free
// revs do not need it. Runs are found in engine and road speed themselves, so a log too short to be decoded is
// judged too. veh may be nil: then the absolute inertia is nil, with a warning.
func Measure(logs []*drive.Log, veh *vehicle.Vehicle, cal *calibrate.Calibration, opt Options) (*Finding,
	[]finding.Finding) {
	m := &measurement{veh: veh, cal: cal, opt: opt, finding: &Finding{
		Runs: []Run{}, Methods: []Method{}, WhatToDrive: []finding.Text{}, Drift: []Drift{}, FootOnClutch: opt.FootOnClutch,
	}}
	m.observe(logs)
	m.findRuns()
	m.checkSet()
	m.finding.refuseForeign()
	m.finding.settleRates()
	m.finding.Drift = drifts(m.finding.Runs)
	m.markTurns()
	m.absolute()
	m.adviseFreeRevs()
	return m.finding, m.warnings
}

// measurement is the state of one Measure.
type measurement struct {
	veh      *vehicle.Vehicle
	cal      *calibrate.Calibration
	opt      Options
	scenes   []*preparedLog // one for each log; nil without engine speed
	finding  *Finding
	warnings []finding.Finding
}

func (m *measurement) warn(code finding.Code, values ...finding.Value) {
	m.warnings = append(m.warnings, finding.New(code, values...))
}

// advise adds something to drive.
func (m *measurement) advise(f finding.Finding) {
	m.finding.WhatToDrive = append(m.finding.WhatToDrive, finding.Say(f))
}

func (m *measurement) observe(logs []*drive.Log) {
	m.scenes = make([]*preparedLog, len(logs))
	var idles []float64
	for i, l := range logs {
		session := i
		if i < len(m.opt.Session) {
			session = m.opt.Session[i]
		}
		if m.scenes[i] = observe(i, session, l, m.veh); m.scenes[i] == nil {
			m.warn(finding.NoEngineSpeed, finding.Name("file", l.Path))
			continue
		}
		idles = append(idles, m.scenes[i].idle)
	}
	if len(idles) > 0 {
		m.finding.IdleRPM = stats.Median(idles)
	}
}

func (m *measurement) findRuns() {
	gears := ladder(m.cal, m.veh)
	lag := defaultLag
	if m.cal != nil && m.cal.SpeedLag != nil {
		lag = m.cal.SpeedLag.Value
	}
	for _, s := range m.scenes {
		if s == nil {
			continue
		}
		runs := s.freeRevs(m.opt)
		runs = append(runs, s.revUps(runs, m.veh)...)
		runs = append(runs, s.overruns(gears, lag)...)
		runs = append(runs, s.coasts(gears)...)
		runs = append(runs, s.pulls(gears, lag)...)
		slices.SortStableFunc(runs, func(a, b Run) int { return cmp.Compare(a.Start, b.Start) })
		m.finding.Runs = append(m.finding.Runs, runs...)
	}
}

// FreeRevs returns the used runs of one kind of free rev.
func (f *Finding) FreeRevs(kind Kind) []*Run {
	if f == nil {
		return nil
	}
	return usedOf(f.all(), kind)
}

func (f *Finding) all() []*Run {
	out := make([]*Run, len(f.Runs))
	for i := range f.Runs {
		out[i] = &f.Runs[i]
	}
	return out
}
