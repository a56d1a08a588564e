package guide

import (
	"fmt"
	"math"
	"strings"
	"sync"

	"flywitness/analysis/practice"
	"flywitness/capture"
	"flywitness/cmd/logger/live"
	"flywitness/drive"
)

// Judge tells which runs a recording holds; *live.Judge is one.
type Judge interface {
	Runs(l *drive.Log) []live.Run
	FreeRevs(l *drive.Log) []live.Run
}

// Needs is how many runs of each kind are asked for, and what is spared the clutch.
type Needs struct {
	CoolantC       float64 // warm from here on
	IdleS          float64
	FreeRevs       int
	FirstGearPulls int // in one gear
	OtherGearPulls int // in another gear
	InGear, Coasts int // half of each one way, half the other
	InARow         int // free revs before a rest
	RestS          float64
	CoolingS       float64 // after the first sure slip
	HeatJ          float64 // in all the slip of the recording, then no more pulls
	LookS          float64 // how often the whole recording is judged
}

// Usual returns the numbers that the analysis is content with: three free revs are the least, six leave room for one that is thrown
// out. Rest, cooling and heat are common practice, no source: the heat is that of some five ordinary starts.
func Usual() Needs {
	return Needs{
		CoolantC: 80, IdleS: 20, FreeRevs: 6, FirstGearPulls: 3, OtherGearPulls: 2, InGear: 4, Coasts: 4,
		InARow: 6, RestS: 120, CoolingS: 180, HeatJ: 100e3, LookS: 5,
	}
}

// How the sentences that others listen for begin: a run that counts, one that does not, slip that was seen.
const (
	Accepted = "Good: "
	Refused  = "Not used: "
	Lift     = "LIFT: "
)

// step is where the guide is.
type step uint8

const (
	warmUp step = iota
	idling
	freeRevs
	pulling
	rolling
	finished
)

// Guide is a guided recording. Tick is called once a second of the recording from one goroutine; the other methods may be
// called from any.
type Guide struct {
	judge   Judge
	book    *live.Book
	needs   Needs
	answers Answers
	offers  []PullOffer
	noOffer string
	say     func(string)

	mu       sync.Mutex
	begun    bool
	step     step
	skip     bool
	slipAt   float64 // s, alarm that has not been dealt with; NaN
	plan     capture.Plan
	now      float64
	since    float64 // when the step began
	told     map[string]bool
	used     map[live.Kind]int
	byGear   map[int]int // usable pulls
	rest     rest
	clutch   clutch
	nextSay  float64
	nextLook float64
}

// clutch is what the guide knows of a clutch that has slipped.
type clutch struct {
	slipped   bool
	coolUntil float64
	confirm   bool // the one confirmation has been offered
	heat      float64
}

// New returns a guide at its first step.
func New(j Judge, b *live.Book, n Needs, a Answers, offers []PullOffer, noOffer string, say func(string)) *Guide {
	g := &Guide{judge: j, book: b, needs: n, answers: a, offers: offers, noOffer: noOffer, say: say, slipAt: math.NaN(), plan: capture.RoadPlan(),
		told: map[string]bool{}, used: map[live.Kind]int{}, byGear: map[int]int{}}
	return g
}

// Plan returns the poll list of the step.
func (g *Guide) Plan() capture.Plan {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.plan
}

// Done tells whether everything was asked for.
func (g *Guide) Done() bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.step == finished
}

// Skip passes over the step.
func (g *Guide) Skip() {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.skip = true
}

// Slipped tells of slip that was seen at t s while it happened. It says so at once; Tick deals with the rest.
func (g *Guide) Slipped(t float64) {
	g.mu.Lock()
	g.slipAt = t
	g.mu.Unlock()
	g.say(Lift + "the clutch slips.")
}

// Tick looks at the recording at t s and says what there is to say.
func (g *Guide) Tick(t float64) {
	g.mu.Lock()
	first := !g.begun
	g.now, g.begun = t, true
	skip, at := g.skip, g.slipAt
	g.skip, g.slipAt = false, math.NaN()
	g.mu.Unlock()
	if first {
		g.enter(warmUp)
	}
	if !math.IsNaN(at) {
		g.slipSeen()
	}
	if skip {
		g.say("passed over")
		g.enter(g.step + 1)
		return
	}
	switch g.step {
	case warmUp:
		g.warming()
	case idling:
		g.idle()
	case freeRevs:
		g.revs()
	case pulling:
		g.pulls()
	case rolling:
		g.rolls()
	}
}

// enter begins a step.
func (g *Guide) enter(s step) {
	g.mu.Lock()
	g.step, g.since, g.nextSay, g.nextLook = s, g.now, 0, g.now
	g.plan = map[step]capture.Plan{freeRevs: capture.RevDownPlan(), pulling: capture.PullPlan(), rolling: capture.PullPlan()}[s]
	if g.plan.Name == "" {
		g.plan = capture.RoadPlan()
	}
	g.mu.Unlock()
	switch s {
	case warmUp:
		g.say(fmt.Sprintf("1. Warm up: drive gently until the coolant has %.0f °C. (s and Enter passes a step over.)", g.needs.CoolantC))
	case idling:
		g.say(fmt.Sprintf("2. Stop where it is safe, lever in neutral, foot off the clutch, consumers off. Let it idle for %.0f s.", g.needs.IdleS))
	case freeRevs:
		g.caution(practice.FreeRevs)
		g.say(fmt.Sprintf("3. Free revs, %d good ones: standing, lever in neutral, foot %s the clutch. Rev to about 4000 rpm, hold it for a moment, let go at once and fully, wait until it idles.",
			g.needs.FreeRevs, g.foot()))
	case pulling:
		g.beginPulls()
	case rolling:
		g.caution(practice.Coasting)
		g.say(fmt.Sprintf("5. Over the same piece of road, both ways: from about 5000 rpm in second or third gear foot off the accelerator and let it fall to 1600 rpm (%d good ones); then in neutral from the same speed, rolling (%d good ones). Foot off the clutch, no brake.",
			g.needs.InGear, g.needs.Coasts))
	case finished:
		g.finish()
	}
}

func (g *Guide) foot() string {
	if on := g.answers.FootOnClutch(); on != nil && *on {
		return "on"
	}
	return "off"
}

func (g *Guide) caution(a practice.Activity) {
	for _, c := range practice.Cautions(a) {
		g.say("Caution: " + c)
	}
}

// warming waits for the coolant. A car that does not tell its temperature has been asked about the 20 minutes.
func (g *Guide) warming() {
	_, c, ok := g.book.Last(drive.CoolantTemp)
	switch {
	case ok && c >= g.needs.CoolantC:
		g.say(fmt.Sprintf("Coolant %.0f °C: warm.", c))
		g.enter(idling)
	case !ok && g.now-g.since > 60:
		g.say("The car does not tell its coolant temperature: drive 20 minutes before the runs count.")
		g.enter(idling)
	case ok && g.now >= g.nextSay:
		g.say(fmt.Sprintf("Coolant %.0f °C, on to %.0f.", c, g.needs.CoolantC))
		g.nextSay = g.now + 120
	}
}

// idle waits until the engine has idled long enough.
func (g *Guide) idle() {
	l := g.book.Log(g.now - g.needs.IdleS)
	rpm := l.Channel(drive.EngineSpeed)
	if rpm == nil || rpm.Len() < 5 || g.now-g.since < g.needs.IdleS {
		return
	}
	for _, v := range rpm.V {
		if v < 400 || v > 1300 {
			return
		}
	}
	if speed := l.Channel(drive.VehicleSpeed); speed != nil {
		for _, v := range speed.V {
			if v > 1 {
				return
			}
		}
	}
	g.say("Idle: good.")
	g.enter(freeRevs)
}

// settled is how long ago a run must have ended before it is judged, so that its end is all there.
const settled = 2.0

// news tells of runs that were not told of yet and counts those that can be used; it returns the new ones.
func (g *Guide) news(runs []live.Run, want func(live.Run) (kind string, need int)) []live.Run {
	clear(g.used)
	clear(g.byGear)
	var fresh []live.Run
	for _, r := range runs {
		_, need := want(r)
		if need == 0 || r.Start < g.since || r.End > g.now-settled {
			continue
		}
		if r.Used {
			g.used[r.Kind]++
			g.byGear[r.Gear]++
		}
		key := fmt.Sprintf("%s %.0f", r.Kind, r.Start)
		if g.told[key] || g.told[fmt.Sprintf("%s %.0f", r.Kind, r.Start+1)] || g.told[fmt.Sprintf("%s %.0f", r.Kind, r.Start-1)] {
			continue
		}
		g.told[key] = true
		fresh = append(fresh, r)
		if r.Used {
			name, need := want(r)
			g.say(fmt.Sprintf("%s%s, %d of %d.", Accepted, r, g.count(name, r), need))
		} else {
			g.say(fmt.Sprintf("%s%s, %s.", Refused, r, strings.TrimSuffix(r.Why, ".")))
		}
	}
	return fresh
}

func (g *Guide) count(by string, r live.Run) int {
	if by == "gear" {
		return g.byGear[r.Gear]
	}
	return g.used[r.Kind]
}

// look tells whether it is time to judge the whole recording.
func (g *Guide) look() bool {
	if g.now < g.nextLook {
		return false
	}
	g.nextLook = g.now + g.needs.LookS
	return true
}

// rolls asks for falls in gear and in neutral.
func (g *Guide) rolls() {
	if !g.look() {
		return
	}
	need := map[live.Kind]int{live.InGear: g.needs.InGear, live.Coast: g.needs.Coasts}
	g.news(g.judge.Runs(g.book.Log(0)), func(r live.Run) (string, int) { return "kind", need[r.Kind] })
	if g.used[live.InGear] >= g.needs.InGear && g.used[live.Coast] >= g.needs.Coasts {
		g.enter(finished)
	}
}

// finish says what there is and what to do with it.
func (g *Guide) finish() {
	g.say("Done: everything was asked for. The recording ends now; let the engine idle for a minute before switching it off after full load.")
}
