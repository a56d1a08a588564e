package guide

import (
	"fmt"
	"math"
	"sync"

	"flywitness/analysis/plan"
	"flywitness/analysis/practice"
	"flywitness/capture"
	"flywitness/cmd/logger/live"
	"flywitness/drive"
	"flywitness/figure"
	"flywitness/finding"
)

// step is what the guide asks for.
type step uint8

const (
	warmUp step = iota
	idling
	freeRevs
	pulling
	rolling
	finished
)

// Steps is how many steps there are.
const Steps = int(finished)

// Guide is a guided recording. It asks for one thing at a time, and takes every usable run whenever it is driven. Tick and Judged are
// called from one goroutine; the other methods may be called from any.
type Guide struct {
	Units figure.Units // of what is said; set before the first Tick

	book    *live.SampleBuffer
	needs   plan.Session
	answers Answers
	road    plan.Drive
	tells   func(Message)

	mu     sync.Mutex
	begun  bool
	step   step
	skip   bool
	slipAt float64 // s, alarm that has not been dealt with; NaN
	polled capture.Plan
	tally  tally

	now       float64
	since     float64       // when the step began
	over      [Steps]bool   // steps that are done with: met, passed over or not to be asked for
	cautioned map[step]bool // steps whose cautions were given
	told      []live.Run    // runs that were told of
	rest      rest
	clutch    clutch
	hold      holds
	nextSay   float64
}

// clutch is what the guide knows of a clutch that has slipped.
type clutch struct {
	slipped   bool
	coolUntil float64
	confirm   bool // the one confirmation has been offered
	offered   float64
}

// New returns a guide at its first step.
func New(b *live.SampleBuffer, n plan.Session, a Answers, road plan.Drive, tells func(Message)) *Guide {
	if road.RevToRPM == 0 { // nobody asked what the car can do
		usual := plan.On(nil, plan.Road{})
		road.RevToRPM, road.HoldsRPM = usual.RevToRPM, usual.HoldsRPM
	}
	return &Guide{book: b, needs: n, answers: a, road: road, tells: tells, slipAt: math.NaN(),
		polled: capture.RoadPlan(), cautioned: map[step]bool{}, tally: newTally(nil)}
}

// in is a sentence in the units of the passenger.
func (g *Guide) in(code finding.Code, values ...finding.Value) string {
	return finding.New(code, values...).In(g.Units)
}

// Plan returns the poll list of the step.
func (g *Guide) Plan() capture.Plan {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.polled
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
	g.tells(Message{About: Lift, Text: "LIFT: the clutch slips."})
}

// Tick looks at the recording at t s, once a second, and says what there is to say.
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
	if skip && g.step < finished {
		g.say("passed over")
		g.done(g.step)
	}
	switch g.step {
	case warmUp:
		g.warming()
	case freeRevs:
		g.resting()
	case pulling:
		g.cooling()
	}
	if !g.over[idling] && g.idled() {
		g.over[idling] = true
		if g.step == idling {
			g.say("Idle: good.")
			g.enter(g.next())
		}
	}
	g.choosePlan()
}

// done ends a step for good and goes on to the next one that is not met.
func (g *Guide) done(s step) {
	g.over[s] = true
	if g.step == s {
		g.enter(g.next())
	}
}

// next returns the first step that is left; who is on the road stays there while there is something to drive.
func (g *Guide) next() step {
	order := []step{warmUp, idling, freeRevs, pulling, rolling}
	if g.step >= pulling {
		order = []step{pulling, rolling, idling, freeRevs}
	}
	for _, s := range order {
		if !g.over[s] {
			return s
		}
	}
	return finished
}

// enter begins a step.
func (g *Guide) enter(s step) {
	g.mu.Lock()
	g.step, g.since, g.nextSay = s, g.now, 0
	g.mu.Unlock()
	g.choosePlan()
	switch s {
	case warmUp:
		g.begins(s, "Warm up", g.in(finding.GuideWarmUp, finding.Temperature("needed", g.needs.CoolantC)))
	case idling:
		g.begins(s, fmt.Sprintf("Idle for %.0f s", g.needs.IdleS),
			"stop where it is safe, lever in neutral, foot off the clutch, consumers off, and let it idle.")
	case freeRevs:
		g.caution(s, practice.FreeRevs)
		g.beginStanding()
	case pulling:
		g.beginPulls()
	case rolling:
		g.caution(s, practice.Coasting)
		from, gear := float64(plan.OverrunFrom), "second or third gear"
		if o := g.road.Overrun; o != nil {
			from, gear = o.FromRPM, fmt.Sprintf("gear %d", o.Gear)
		}
		g.begins(s, "Over the same piece of road, both ways", fmt.Sprintf("from about %.0f rpm in %s foot off the "+
			"accelerator and let it fall to %d rpm (%d good ones); "+
			"then in neutral from the same speed, rolling (%d good ones). Foot off the clutch, no brake.", from, gear, plan.OverrunTo, g.needs.InGear, g.needs.Coasts))
	case finished:
		g.say("Done: everything was asked for. The recording ends now; let the engine idle for a minute before switching it off after full load.")
	}
}

// movingKmh is the road speed from which on the car does not stand.
const movingKmh = 3

// choosePlan takes the poll list of what is driven: free revs need engine speed alone, but a car that moves is not revved.
func (g *Guide) choosePlan() {
	_, kmh, known := g.book.Last(drive.VehicleSpeed)
	list := capture.RoadPlan()
	switch g.step {
	case freeRevs:
		switch {
		case known && kmh > movingKmh:
			list = capture.PullPlan()
		case g.hold.phase == holdsBefore, g.hold.phase == holdsAfter:
			list = capture.HoldPlan()
		case g.hold.phase == revving:
			list = capture.FallPlan()
		default:
			list = capture.RevDownPlan()
		}
	case pulling, rolling:
		list = capture.PullPlan()
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	g.polled = list
}

func (g *Guide) foot() string {
	if on := g.answers.FootOnClutch(); on != nil && *on {
		return "on"
	}
	return "off"
}

// caution gives the cautions of a step, once.
func (g *Guide) caution(s step, a practice.Activity) {
	if g.cautioned[s] {
		return
	}
	g.cautioned[s] = true
	for _, c := range practice.Cautions(a) {
		g.say("Caution: " + c)
	}
}

// warming waits for the coolant. A car that does not tell its temperature has been asked about the 20 minutes.
func (g *Guide) warming() {
	_, c, ok := g.book.Last(drive.CoolantTemp)
	switch {
	case ok && c >= g.needs.CoolantC:
		g.say(g.in(finding.GuideWarm, finding.Temperature("coolant", c)))
		g.done(warmUp)
	case !ok && g.now-g.since > 60:
		g.say("The car does not tell its coolant temperature: drive 20 minutes before the runs count.")
		g.done(warmUp)
	case ok && g.now >= g.nextSay:
		g.say(g.in(finding.GuideWarming, finding.Temperature("coolant", c), finding.Temperature("needed", g.needs.CoolantC)))
		g.nextSay = g.now + 120
	}
}

// idled tells whether the engine has just idled long enough.
func (g *Guide) idled() bool {
	if g.now < g.needs.IdleS || !g.over[warmUp] {
		return false
	}
	l := g.book.Log(g.now - g.needs.IdleS)
	rpm := l.Channel(drive.EngineSpeed)
	if rpm == nil || rpm.Len() < 5 || rpm.T[0] > g.now-0.9*g.needs.IdleS {
		return false
	}
	for _, v := range rpm.V {
		if v < 400 || v > 1300 {
			return false
		}
	}
	if speed := l.Channel(drive.VehicleSpeed); speed != nil {
		for _, v := range speed.V {
			if v > 1 {
				return false
			}
		}
	}
	return true
}
