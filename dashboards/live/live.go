// Package live is the page that a passenger looks at while a drive is being recorded: connection, rates, engine and road
// speed, gear, clutch state, the guided steps, the last runs accepted or refused. The recorder publishes what there is to
// show; the page asks for nothing and can change nothing.
package live

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"html/template"
	"net/http"
	"sync"
	"time"

	"flywitness/dashboards/web"
)

// State is everything that the page shows. A nil number is not known (yet).
type State struct {
	Connection string   `json:"connection"` // a sentence: "connected", "nothing from the car, trying again"
	Connected  bool     `json:"connected"`
	ElapsedS   float64  `json:"elapsed_s"`
	File       string   `json:"file"`
	Rates      []Rate   `json:"rates"`
	LatencyMs  *float64 `json:"latency_ms"`

	EngineRPM *float64 `json:"engine_rpm"`
	SpeedKmh  *float64 `json:"speed_kmh"`
	Speed     *float64 `json:"speed"`      // the same as it is shown
	SpeedUnit string   `json:"speed_unit"` // km/h | mph
	Gear      int      `json:"gear"`       // 0 none, or not known
	Clutch    string   `json:"clutch"`     // engaged | slipping | disengaged | "" where it cannot be told
	SlipPct   *float64 `json:"slip_pct"`

	Learnt bool   `json:"learnt"` // gearing is known, so that gear and locked line can be told
	Curve  *Curve `json:"curve"`  // the last half minute; nil while there is none
	GPS    string `json:"gps"`    // rate of the GPS receiver or what is wrong with it; "" without one

	Alert  string `json:"alert"`  // what the driver must be told now: "lift"
	Step   *Step  `json:"step"`   // of the guided recording
	Needs  []Need `json:"needs"`  // of the guided recording: what is there of what is asked for
	Usable string `json:"usable"` // the runs that can be used so far
	Runs   []Run  `json:"runs"`   // the last ones, newest first
}

// Point is a moment, in s before now and so not above 0, and a value.
type Point [2]float64

// Stretch is a time, in s before now, with one value.
type Stretch struct {
	From  float64 `json:"from"`
	To    float64 `json:"to"`
	Value float64 `json:"value"`
}

// Curve is what the engine did in the last LengthS seconds.
type Curve struct {
	LengthS float64   `json:"length_s"`
	Engine  []Point   `json:"engine"` // rpm as measured
	Locked  []Point   `json:"locked"` // rpm that the road speed asks for in the gear that is in
	Gears   []Stretch `json:"gears"`  // value: the gear
	Slips   []Stretch `json:"slips"`  // value: the largest slip in it, % of engine speed
}

// Need is how many runs of a kind can be used of those that are asked for.
type Need struct {
	What string `json:"what"`
	Have int    `json:"have"`
	Want int    `json:"want"`
}

// Rate is how often a channel comes.
type Rate struct {
	Channel string  `json:"channel"`
	Hz      float64 `json:"hz"`
}

// Step is what is to be driven now.
type Step struct {
	Number int    `json:"number"`
	Of     int    `json:"of"`
	Title  string `json:"title"`
	Text   string `json:"text"`
}

// Run is a run that was judged on the spot.
type Run struct {
	What     string `json:"what"`
	Accepted bool   `json:"accepted"`
	Why      string `json:"why"` // why it was refused, or what was found
}

// Hub takes states from one recorder and shows the latest to any number of viewers. It may be used from several
// goroutines; Publish never waits for a viewer.
type Hub struct {
	mu      sync.Mutex
	state   State
	version uint64
	changed chan struct{} // closed when the state changes
	closed  bool
	viewers int
	mux     *http.ServeMux
}

// mostViewers is how many look at a time.
const mostViewers = 12

// heartbeat keeps a quiet stream open and tells a viewer whose recorder is gone that it is.
const heartbeat = 3 * time.Second

// NewHub returns a hub without a state.
func NewHub() *Hub {
	h := &Hub{changed: make(chan struct{}), mux: http.NewServeMux(), state: State{Connection: "starting"}}
	h.mux.HandleFunc("GET /{$}", h.page)
	h.mux.HandleFunc("GET /events", h.events)
	return h
}

// Publish replaces the state.
func (h *Hub) Publish(s State) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.state = s
	h.version++
	if !h.closed {
		close(h.changed)
		h.changed = make(chan struct{})
	}
}

// Close ends all streams. Viewers see that the recording has ended.
func (h *Hub) Close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	if !h.closed {
		h.closed = true
		close(h.changed)
	}
}

func (h *Hub) latest() (s State, version uint64, changed <-chan struct{}, closed bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.state, h.version, h.changed, h.closed
}

// ServeHTTP answers a request; wrap it in web.Handler.
func (h *Hub) ServeHTTP(w http.ResponseWriter, r *http.Request) { h.mux.ServeHTTP(w, r) }

//go:embed live.html
var pageHTML string

//go:embed live.css
var pageCSS string

//go:embed live.js
var pageJS string

var page = web.Parse(pageHTML, template.FuncMap{"number": number, "clock": clock})

type view struct {
	State
	Page web.Page
}

func (h *Hub) page(w http.ResponseWriter, _ *http.Request) {
	s, _, _, _ := h.latest()
	p := web.New("Recording", web.Own{CSS: pageCSS, Script: pageJS, Policy: "connect-src 'self'; img-src data:; frame-ancestors 'none'"})
	p.Served, p.Refresh = true, 2
	w.Header().Set("Content-Security-Policy", p.Policy)
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	// What fails here is the connection; there is nobody left to tell.
	_ = page.Execute(w, view{s, p})
}

// events streams the state as server-sent events (WHATWG HTML, section 9.2, from memory): each event is the whole state, so
// that a viewer who was away for a while misses nothing that still holds.
func (h *Hub) events(w http.ResponseWriter, r *http.Request) {
	if !h.enter() {
		w.Header().Set("Retry-After", "5")
		http.Error(w, "Too many viewers.", http.StatusServiceUnavailable)
		return
	}
	defer h.leave()
	out := http.NewResponseController(w)
	w.Header().Set("Content-Type", "text/event-stream")
	fmt.Fprint(w, "retry: 1000\n\n")
	tick := time.NewTicker(heartbeat)
	defer tick.Stop()
	for sent, first := uint64(0), true; ; {
		s, version, changed, closed := h.latest()
		if first || version != sent {
			data, err := json.Marshal(s)
			if err != nil { // a number that JSON does not know: the next state may do
				data = []byte(`{"connection":"a value cannot be shown"}`)
			}
			fmt.Fprintf(w, "id: %d\ndata: %s\n\n", version, data)
			sent, first = version, false
		}
		if closed {
			fmt.Fprint(w, "event: end\ndata: {}\n\n")
		}
		// A viewer who does not take what is sent is let go.
		if out.SetWriteDeadline(time.Now().Add(2*heartbeat)) != nil || out.Flush() != nil || closed {
			return
		}
		select {
		case <-r.Context().Done():
			return
		case <-changed:
		case <-tick.C:
			fmt.Fprint(w, ": still here\n\n")
		}
	}
}

func (h *Hub) enter() bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.viewers >= mostViewers {
		return false
	}
	h.viewers++
	return true
}

func (h *Hub) leave() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.viewers--
}

// number writes a whole number, a dash where there is none.
func number(v *float64) string {
	if v == nil {
		return "–"
	}
	return fmt.Sprintf("%.0f", *v)
}

func clock(s float64) string {
	n := int(s)
	return fmt.Sprintf("%d:%02d:%02d", n/3600, n/60%60, n%60)
}
