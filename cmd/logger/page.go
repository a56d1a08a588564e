package main

import (
	"context"
	"net"
	"sort"
	"sync"

	"flywitness/analysis/gearstate"
	"flywitness/capture"
	"flywitness/cmd/logger/guide"
	"flywitness/cmd/logger/live"
	pages "flywitness/dashboards/live"
	"flywitness/dashboards/web"
	"flywitness/drive"
	"flywitness/figure"
)

// page is the live page for the passenger. A nil page does nothing.
type page struct {
	hub      *pages.Hub
	listener net.Listener
	hosts    []string // more names that browsers call this machine by
	say      func(string)
	units    figure.Units

	mu     sync.Mutex
	state  pages.State
	gap    bool
	shown  float64 // s, time of the sample that was shown last
	alerts float64 // s, until when the alert stays
	curve  curve
}

// How often values are shown, how long an alert stays and how many runs are listed.
const (
	showEvery = 0.2 // s
	alertStay = 6.0 // s
	mostRuns  = 8
)

// newPage listens at an address; none gives no page. It is told before anything else begins when that cannot be.
func newPage(addr string, hosts []string, file string, u figure.Units, say func(string)) (*page, error) {
	if addr == "" {
		return nil, nil
	}
	l, err := web.Listen(addr)
	if err != nil {
		return nil, err
	}
	return &page{hub: pages.NewHub(), listener: l, hosts: hosts, say: say, units: u, state: pages.State{File: file, SpeedUnit: speedUnit(u), Connection: "connected", Connected: true}}, nil
}

// speedUnit is that of road speed on the page.
func speedUnit(u figure.Units) string {
	_, unit := u.In(0, "km/h")
	return unit
}

// close lets the address go, where serve never began.
func (p *page) close() {
	if p != nil {
		p.listener.Close()
	}
}

// serve serves until ctx ends. The recording goes on when it fails.
func (p *page) serve(ctx context.Context) {
	if p == nil {
		return
	}
	go func() { // the streams end first, or they would hold up the server
		<-ctx.Done()
		p.hub.Close()
	}()
	if err := web.Serve(ctx, p.listener, web.Handler(p.hub, p.listener.Addr(), web.Limits{}, p.hosts...), web.Limits{}); err != nil {
		p.say("the live page has ended: " + err.Error() + "; the recording goes on")
	}
}

// alarm puts the alert on the page beside what else is done when the clutch slips.
func (p *page) alarm(also func(live.State)) func(live.State) {
	if p == nil {
		return also
	}
	return func(s live.State) {
		p.alert("Lift now: the clutch slips.")
		if also != nil {
			also(s)
		}
	}
}

func (p *page) alert(text string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.state.Alert, p.alerts = text, p.shown+alertStay
	p.hub.Publish(p.state)
}

// sample shows what was measured, a few times a second.
func (p *page) sample(b *liveSession, s capture.Sample) {
	if p == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if s.Channel == drive.EngineSpeed {
		p.curve.measured(s.T, s.V)
	}
	p.curve.seen(b.watch.State())
	if s.T < p.shown+showEvery {
		return
	}
	p.shown = s.T
	p.measured(b)
	p.hub.Publish(p.state)
}

// measured takes the last values. They are nothing while nothing comes from the car.
func (p *page) measured(b *liveSession) {
	last := func(channel string) *float64 {
		if _, v, ok := b.book.Last(channel); ok && !p.gap {
			return &v
		}
		return nil
	}
	p.state.EngineRPM, p.state.SpeedKmh = last(drive.EngineSpeed), last(drive.VehicleSpeed)
	if v := p.state.SpeedKmh; v != nil {
		shown, _ := p.units.In(*v, "km/h")
		p.state.Speed = &shown
	} else {
		p.state.Speed = nil
	}
	p.state.Gear, p.state.Clutch, p.state.SlipPct = 0, "", nil
	if seen := b.watch.State(); seen.Known && !p.gap {
		p.state.Gear = seen.Gear
		switch seen.Clutch {
		case gearstate.Locked:
			p.state.Clutch = "engaged"
		case gearstate.Slipping:
			p.state.Clutch, p.state.SlipPct = "slipping", &seen.SlipPct
		case gearstate.Open:
			p.state.Clutch = "disengaged"
		}
	}
	if p.shown > p.alerts {
		p.state.Alert = ""
	}
	p.state.Learnt = b.watch.State().Known
	p.state.Curve = p.curve.shown(p.shown)
}

// tick shows how the recording stands, each second.
func (p *page) tick(b *liveSession, s capture.Status) {
	if p == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.gap = s.Gap != ""
	p.state.Connected, p.state.Connection = !p.gap, "connected"
	if p.gap {
		p.state.Connection = "nothing from the car, trying again: " + s.Gap
	}
	p.state.ElapsedS = s.Elapsed.Seconds()
	ms := float64(s.Latency.Milliseconds())
	p.state.LatencyMs = &ms
	p.state.Rates = nil
	for channel, hz := range s.Rates {
		p.state.Rates = append(p.state.Rates, pages.Rate{Channel: channel, Hz: hz})
	}
	sort.Slice(p.state.Rates, func(i, j int) bool { return p.state.Rates[i].Channel < p.state.Rates[j].Channel })
	p.state.GPS = gpsText(s, "")
	p.runs(b)
	p.measured(b)
	p.hub.Publish(p.state)
}

// hear puts what the guide says on the page, and passes it on.
func (p *page) hear(say func(string)) func(guide.Message) {
	if p == nil {
		return func(m guide.Message) { say(m.String()) }
	}
	return func(m guide.Message) {
		say(m.String())
		p.mu.Lock()
		defer p.mu.Unlock()
		switch m.About {
		case guide.Judged: // the list of runs says it
		case guide.Lift: // the alarm says it
		case guide.Begins:
			p.state.Step = &pages.Step{Number: m.Step, Of: guide.Steps, Title: m.Title, Text: m.Text}
		case guide.Remark:
			if p.state.Step != nil {
				step := *p.state.Step
				step.Text = m.Text
				p.state.Step = &step
			}
		}
		p.hub.Publish(p.state)
	}
}

// runs lists the runs as they are judged, the last one first, and how many are still needed.
func (p *page) runs(b *liveSession) {
	p.state.Runs, p.state.Usable, p.state.Needs = nil, b.usable(), nil
	all := b.judged()
	for i := len(all) - 1; i >= 0 && len(p.state.Runs) < mostRuns; i-- {
		r := all[i]
		p.state.Runs = append(p.state.Runs, pages.Run{What: r.String(), Accepted: r.Used, Why: r.Why.In(p.units)})
	}
	if b.guide != nil {
		for _, n := range b.guide.Needs() {
			p.state.Needs = append(p.state.Needs, pages.Need{What: string(n.Kind), Have: n.Have, Want: n.Want})
		}
	}
}
