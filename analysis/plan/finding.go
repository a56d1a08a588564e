package plan

import (
	"math"

	"flywitness/analysis/compare"
	"flywitness/finding"
	"flywitness/vehicle"
)

// Question is what is to be planned.
type Question struct {
	Change    float64   // relative change of inertia to show; 0.1 when 0
	Margin    float64   // within which no change is to be shown; compare.UsualMargin when 0
	Checklist bool      // the checklist will be kept
	Road      Road      // of full-load pulls
	Log       *Measured // what a log of the car tells; nil: the usual links
}

// Finding is the plan.
type Finding struct {
	Power          float64 `json:"power"`
	ChangePct      float64 `json:"change_pct"`
	SessionSDPct   float64 `json:"session_sd_pct"`
	RunsPerSession int     `json:"runs_per_session"` // what the drive is laid out for
	// that show the change with so many runs; nil when no number of them does
	Sessions  *int    `json:"sessions_per_side"`
	MarginPct float64 `json:"no_change_margin_pct"`
	// that show sameness within the margin when nothing changed; nil when no number of them does
	ForNoChange *int       `json:"no_change_sessions_per_side"`
	SameWithin  []Sameness `json:"no_change_within"`
	Links       []LinkPlan `json:"links"`
	RevToRPM    float64    `json:"rev_to_rpm"`
	HoldsRPM    [2]float64 `json:"holds_at_rpm"`
	WaysLink    string     `json:"ways_link"` // that the ways are worked out for
	Ways        []Way      `json:"ways"`      // to drive the job
	// the one of least effort that shows the change, counted from 0; nil when none does
	ForChange *int `json:"way_for_change"`
	ForSame   *int `json:"way_for_no_change"` // that shows sameness within the margin
	// and within 5 %, where that margin is set before the drive
	ForSame5  *int         `json:"way_for_no_change_within_5_pct"`
	Pull      *Pull        `json:"pull"`
	WhyNoPull finding.Text `json:"why_no_pull,omitempty"`
	Overrun   *Overrun     `json:"off_throttle_run"`
}

// LinkPlan is what a link can show.
type LinkPlan struct {
	Name         string      `json:"name"`
	RateHz       float64     `json:"rate_hz"`
	TimingSD     float64     `json:"timing_sd_s"`
	Samples      float64     `json:"samples_per_run"` // below FewestSamples a run is refused
	TimingPct    float64     `json:"timing_scatter_pct"`
	RunToRunPct  float64     `json:"run_to_run_scatter_pct"`
	Runs         int         `json:"runs_measured"` // free revs of the log that told; 0 for a usual link
	ScatterIsOwn bool        `json:"scatter_measured"`
	Needs        []Need      `json:"needs"`
	BySessions   []Detection `json:"by_sessions"`
}

// Need is how many free revs a side show a change when both sides are driven in one condition.
type Need struct {
	ChangePct float64 `json:"change_pct"`
	Runs      *int    `json:"runs_per_side"` // nil: more than anybody drives
}

// Detection is the smallest change that so many sessions a side show.
type Detection struct {
	Sessions  int     `json:"sessions_per_side"`
	ChangePct float64 `json:"smallest_detectable_pct"`
}

// FewestSamples is how many samples a free rev must leave to be used.
const FewestSamples = 4

// usualFall is a free rev from 3500 to 1500 rpm in s. Common practice, no source.
const usualFall = 1.4

// usualWindow is what free revs to about 4000 rpm leave, rpm.
var usualWindow = [2]float64{1500, 3500}

// Make answers the question for a car; v may be nil, the pull then says what is missing.
func Make(v *vehicle.Vehicle, q Question) *Finding {
	if q.Change == 0 {
		q.Change = 0.10
	}
	u := compare.SessionSpread(q.Checklist, v != nil && v.Engine.Fuel == "diesel")
	session := Usual()
	f := &Finding{Power: power, ChangePct: 100 * q.Change, SessionSDPct: 100 * u, RunsPerSession: session.FreeRevs}
	scatters := f.addLinks(q.Log)
	worst := Scatter{}
	for _, s := range scatters {
		if s.total() > worst.total() {
			worst = s
		}
	}
	if n, ok := runsNeeded(q.Change, worst); ok {
		f.RunsPerSession = min(max(n, session.FreeRevs), mostPerSession)
	}
	if m, ok := sessionsNeeded(q.Change, f.RunsPerSession, worst, u); ok {
		f.Sessions = &m
	}
	f.addSameness(worst, q.Margin, u)
	// Of the usual links the middle one stands for them all.
	f.addWays(scatters[len(scatters)/2], q, u)
	f.WaysLink = f.Links[len(scatters)/2].Name
	for i, s := range scatters {
		f.Links[i].fill(s, q.Change, f.RunsPerSession, u)
	}
	d := On(v, q.Road)
	f.RevToRPM, f.HoldsRPM = d.RevToRPM, d.HoldsRPM
	f.WhyNoPull, f.Overrun = d.NoPull, d.Overrun
	if len(d.Pulls) > 0 {
		f.Pull = &d.Pulls[0]
	}
	return f
}

// Sameness is the margin within which so many sessions a side show that nothing changed.
type Sameness struct {
	Sessions  int     `json:"sessions_per_side"`
	MarginPct float64 `json:"margin_pct"`
}

// addSameness tells what earns "no change", with the worst of the links.
func (f *Finding) addSameness(s Scatter, margin, sessionSD float64) {
	if margin == 0 {
		margin = compare.UsualMargin
	}
	f.MarginPct = 100 * margin
	if m, ok := compare.SessionsForNoChange(margin, f.RunsPerSession, s.total(), sessionSD); ok {
		f.ForNoChange = &m
	}
	for _, m := range []int{1, 2, 3, 5, 10} {
		f.SameWithin = append(f.SameWithin, Sameness{m, 100 * compare.SameWithin(m, f.RunsPerSession, s.total(), sessionSD)})
	}
}

// addLinks lists the log's own link, or the usual ones, and returns the scatter of each.
func (f *Finding) addLinks(log *Measured) []Scatter {
	if log != nil {
		f.Links = []LinkPlan{{Name: log.Name, RateHz: log.RateHz, TimingSD: log.TimingSD, Samples: log.RateHz*log.Fall + 1,
			Runs: log.Runs, ScatterIsOwn: log.Own}}
		return []Scatter{log.Scatter}
	}
	var out []Scatter
	for _, l := range usualLinks {
		f.Links = append(f.Links, LinkPlan{Name: l.Name, RateHz: l.RateHz, TimingSD: l.TimingSD,
			Samples: l.RateHz * usualFall})
		out = append(out, Scatter{l.timingScatter(usualFall), runToRunSD})
	}
	return out
}

func (p *LinkPlan) fill(s Scatter, change float64, runs int, sessionSD float64) {
	p.TimingPct, p.RunToRunPct = 100*s.Timing, 100*s.RunToRun
	listed := []float64{0.03, 0.05, 0.10, 0.20}
	if !near(listed, change) {
		listed = append([]float64{change}, listed...)
	}
	for _, c := range listed {
		need := Need{ChangePct: 100 * c}
		if n, ok := runsNeeded(c, s); ok {
			need.Runs = &n
		}
		p.Needs = append(p.Needs, need)
	}
	for _, m := range []int{1, 2, 3, 5} {
		p.BySessions = append(p.BySessions, Detection{m, 100 * detectable(m, runs, s, sessionSD)})
	}
}

func near(list []float64, x float64) bool {
	for _, y := range list {
		if math.Abs(x-y) < 1e-9 {
			return true
		}
	}
	return false
}
