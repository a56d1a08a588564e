package plan

import (
	"math"

	"flywitness/analysis/inertia"
	"flywitness/analysis/stats"
)

// Measured is what a log of the car tells about its free revs.
type Measured struct {
	Link
	Scatter
	Runs int
	Fall float64 // s, of a kept fall
	Low  float64 // rpm, where half of the kept falls end
	High float64 // rpm, where half of them begin
	Own  bool    // the scatter from run to run is the log's own; else there were too few runs and runToRunSD stands in
}

// fewestRuns is how many free revs show their own scatter.
const fewestRuns = 4

// FromLog learns from the free revs of a finding how fast and how well the link samples and how much runs
// scatter; ok is false when there are none.
func FromLog(f *inertia.Finding) (m Measured, ok bool) {
	runs := f.FreeRevs(inertia.RevDown)
	if rolling := f.FreeRevs(inertia.RollingRevDown); len(rolling) > len(runs) {
		runs = rolling
	}
	if len(runs) == 0 {
		return m, false
	}
	shape, err := inertia.ShapeOf(runs)
	if err != nil || len(shape.Runs) != len(runs) {
		return m, false
	}
	var falls, rates, timing, y, s2, lows, highs []float64
	session, sessions := map[int]int{}, []int{}
	for i, r := range runs {
		n := len(r.T)
		fall := r.T[n-1] - r.T[0]
		falls = append(falls, fall)
		lows, highs = append(lows, r.RPM[n-1]), append(highs, r.RPM[0])
		rates = append(rates, float64(n-1)/fall)
		y, s2 = append(y, math.Log(shape.Runs[i].B)), append(s2, shape.Runs[i].VarLnB)
		timing = append(timing, math.Sqrt(shape.Runs[i].VarLnB))
		if _, seen := session[r.Session]; !seen {
			session[r.Session] = len(session)
		}
		sessions = append(sessions, session[r.Session])
	}
	m = Measured{Runs: len(runs), Fall: stats.Median(falls), Low: stats.Median(lows), High: stats.Median(highs)}
	m.Link = Link{"this log", stats.Median(rates), stats.Median(shape.Sigma)}
	m.Scatter = Scatter{stats.Median(timing), runToRunSD}
	if len(runs) < fewestRuns+len(session)-1 {
		return m, true
	}
	if g, ok := stats.RobustGroups(y, s2, sessions, len(session)); ok {
		m.RunToRun, m.Own = g.Tau, true
	}
	return m, true
}
