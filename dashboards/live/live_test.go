package live

import (
	"bufio"
	"context"
	"encoding/json"
	"math"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"flywitness/dashboards/web"
	"flywitness/internal/browser"
)

func num(v float64) *float64 { return &v }

// running is a state in the middle of a guided recording.
func running(rpm float64) State {
	return State{Connection: "connected", Connected: true, ElapsedS: 754, File: "before.csv", LatencyMs: num(48),
		Rates:     []Rate{{"engine_speed_rpm", 9.6}, {"vehicle_speed_kmh", 9.6}, {"coolant_temp_c", 0.2}},
		EngineRPM: num(rpm), SpeedKmh: num(71), Gear: 4, Clutch: "engaged",
		Learnt: true, Curve: halfMinute(), GPS: "GPS 1.0/s", Usable: "2 free rev, 1 pull",
		Needs: []Need{{"free rev", 2, 6}, {"pull", 1, 5}, {"off-throttle in gear", 0, 4}, {"neutral coast", 4, 4}},
		Step:  &Step{3, 6, "A pull in fourth gear", "From 60 km/h, accelerator to the floor until 110 km/h, then lift."},
		Runs:  []Run{{"pull in fourth gear", true, "no slip"}, {"rev-down", false, "you lifted, the car kept the throttle open"}}}
}

// halfMinute is a pull through third and fourth in which the clutch slips for three seconds.
func halfMinute() *Curve {
	c := &Curve{LengthS: 30, Gears: []Stretch{{-30, -18.2, 3}, {-16.8, 0, 4}}, Slips: []Stretch{{-9, -6, 7.4}}}
	for t := -30.0; t <= 0; t += 0.2 {
		locked := 1900 + 130*(t+30)
		if t > -17.5 {
			locked = 2300 + 120*(t+17.5)
		}
		rpm := locked
		if t > -9 && t < -6 {
			rpm *= 1.074
		}
		c.Engine = append(c.Engine, Point{math.Round(10*t) / 10, math.Round(rpm)})
		if t < -18.2 || t > -16.8 {
			c.Locked = append(c.Locked, Point{math.Round(10*t) / 10, math.Round(locked)})
		}
	}
	return c
}

// The curve is drawn with what a passenger needs to see, on a phone in daylight and in the dark.
func TestCurveOnAPhone(t *testing.T) {
	h := NewHub()
	addr, stop := start(t, h, "127.0.0.1:0")
	defer stop()
	defer h.Close()
	p := browser.Open(t)
	h.Publish(running(2900))
	for _, scheme := range []string{"light", "dark"} {
		p.Screen(390, 844, scheme)
		p.Visit("http://" + addr + "/")
		p.Until(`document.querySelector("#plot .engine")`)
		for script, want := range map[string]float64{
			`document.querySelectorAll("#plot .gear").length`: 2, `document.querySelectorAll("#plot .slip").length`: 1,
			`document.querySelector("#plot .engine").getAttribute("d").split("M").length - 1`: 1,
			`document.documentElement.scrollWidth > window.innerWidth ? 1 : 0`:                0,
			`document.querySelectorAll("#needs li").length`:                                   4,
			`document.querySelector("#plot").getBoundingClientRect().width > 300 ? 1 : 0`:     1,
		} {
			if got := browser.Eval[float64](p, script); got != want {
				t.Errorf("%s: %s is %v, not %v", scheme, script, got, want)
			}
		}
		// The slip of 7 % stands above the locked line by its share of the height.
		const above = `(() => {
			const y = (sel, t) => { const p = document.querySelector(sel), n = p.getTotalLength(); let best = null;
				for (let i = 0; i <= 600; i++) { const q = p.getPointAtLength(n * i / 600); if (best === null || Math.abs(q.x - t) < Math.abs(best.x - t)) best = q; } return best.y; };
			const x = 354 - 318 * 7.5 / 30; return (150 - y("#plot .engine", x)) / (150 - y("#plot .locked", x)); })()`
		if got := browser.Eval[float64](p, above); math.Abs(got-1.074) > 0.02 {
			t.Errorf("%s: engine over locked is %.3f on the page, not 1.074", scheme, got)
		}
		if got := p.Text("header"); !strings.Contains(got, "passenger") || !strings.Contains(got, "never the driver") {
			t.Errorf("the page says %q", got)
		}
		if got := browser.Eval[string](p, `document.getElementById("plot").textContent`); !strings.Contains(got, "7 %") || !strings.Contains(got, "now") {
			t.Errorf("the curve says %q", got)
		}
		p.Picture("curve-" + scheme)
	}
	none := running(900)
	none.GPS, none.Curve, none.Learnt, none.Step = "", nil, false, nil
	h.Publish(none)
	p.Until(`["gpsrow", "curve", "guide"].every((id) => document.getElementById(id).getBoundingClientRect().height === 0)`)
	p.Clean("http://" + addr)
}

// start serves a hub at addr and returns its address and how to stop it.
func start(t *testing.T, h *Hub, addr string) (string, func()) {
	t.Helper()
	var l net.Listener
	var err error
	for range 50 { // the port of a server that has just gone may need a moment
		if l, err = web.Listen(addr); err == nil {
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- web.Serve(ctx, l, web.Handler(h, l.Addr(), web.Limits{}), web.Limits{}) }()
	return l.Addr().String(), func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
}

func TestLivePageThroughAReconnect(t *testing.T) {
	h := NewHub()
	addr, stop := start(t, h, "127.0.0.1:0")
	url := "http://" + addr
	p := browser.Open(t)
	p.Screen(390, 844, "light")
	p.Visit(url + "/")
	h.Publish(running(2900))
	p.Until(`document.getElementById("rpm").textContent === "2900"`)
	for selector, want := range map[string]string{"#gear": "4", "#clutch": "engaged", "#step": "A pull in fourth gear", "#connection": "connected", "#elapsed": "0:12:34"} {
		if got := p.Text(selector); got != want {
			t.Errorf("%s reads %q, not %q", selector, got, want)
		}
	}
	if got := p.Text("#runs"); !strings.Contains(got, "✓ counts pull in fourth gear") || !strings.Contains(got, "✗ refused rev-down: you lifted") {
		t.Errorf("the runs read %q", got)
	}
	if browser.Eval[bool](p, `document.documentElement.scrollWidth > window.innerWidth`) {
		t.Error("the page is wider than a phone")
	}
	p.Picture("live-phone")
	p.Screen(1000, 900, "dark")
	s := running(4100)
	s.Clutch, s.SlipPct, s.Alert = "slipping", num(7), "Lift now: the clutch slips."
	h.Publish(s)
	p.Until(`document.getElementById("alert").textContent.startsWith("Lift") && !document.getElementById("alert").hidden`)
	p.Picture("live-dark")
	p.Clean(url)

	// The recorder goes away and comes back at the same address.
	stop()
	p.Until(`document.getElementById("connection").textContent.startsWith("No word")`)
	if got := p.Text("#rpm"); got != "–" {
		t.Errorf("an old engine speed stays on the page: %s", got)
	}
	h = NewHub()
	_, stop = start(t, h, addr)
	h.Publish(running(1800))
	p.Until(`document.getElementById("rpm").textContent === "1800"`)
	h.Close()
	p.Until(`document.getElementById("connection").textContent === "The recording has ended."`)
	stop()
}

func TestHostileWordsAreOnlyText(t *testing.T) {
	const bad = `<script>alert(1)</script></style>"'<img src=x>`
	h := NewHub()
	s := running(1000)
	s.File, s.Connection, s.Clutch, s.Runs[0].What, s.Step.Title, s.Rates[0].Channel = bad, bad, bad, bad, bad, "<script>"
	h.Publish(s)
	addr, stop := start(t, h, "127.0.0.1:0")
	defer stop()
	p := browser.Open(t)
	p.Visit("http://" + addr + "/")
	p.Until(`document.getElementById("elapsed").textContent === "0:12:34"`)
	if got := p.Text("#file"); got != bad {
		t.Errorf("the file reads %q", got)
	}
	if n := browser.Eval[int](p, `document.querySelectorAll("img").length + document.scripts.length`); n != 1 {
		t.Errorf("%d scripts and pictures", n)
	}
	p.Clean("http://" + addr)
	h.Close()
}

// next reads one event of a stream.
func next(t *testing.T, r *bufio.Reader) (State, bool) {
	t.Helper()
	for {
		line, err := r.ReadString('\n')
		if err != nil {
			return State{}, false
		}
		if data, ok := strings.CutPrefix(line, "data: "); ok {
			var s State
			if err := json.Unmarshal([]byte(data), &s); err != nil {
				t.Fatal(err)
			}
			return s, true
		}
	}
}

func TestSeveralViewersSeeTheLatest(t *testing.T) {
	h := NewHub()
	server := httptest.NewServer(h)
	defer server.Close()
	defer h.Close()
	h.Publish(running(1000))
	var streams []*bufio.Reader
	for range mostViewers {
		resp, err := http.Get(server.URL + "/events")
		if err != nil {
			t.Fatal(err)
		}
		defer resp.Body.Close()
		r := bufio.NewReader(resp.Body)
		if s, ok := next(t, r); !ok || *s.EngineRPM != 1000 {
			t.Fatalf("a new viewer sees %+v", s)
		}
		streams = append(streams, r)
	}
	if resp, err := http.Get(server.URL + "/events"); err != nil || resp.StatusCode != http.StatusServiceUnavailable {
		t.Errorf("one viewer too many: %v %v", resp.StatusCode, err)
	}
	for i := range 500 { // faster than anybody reads
		h.Publish(running(float64(2000 + i)))
	}
	for i, r := range streams {
		for {
			s, ok := next(t, r)
			if !ok {
				t.Fatalf("viewer %d lost the stream", i)
			}
			if *s.EngineRPM == 2499 {
				break
			}
		}
	}
}

func TestPublishNeverWaitsAndAnswersBadNumbers(t *testing.T) {
	h := NewHub()
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for range 1000 {
				h.Publish(running(1))
			}
		})
	}
	wg.Wait()
	s := running(math.NaN())
	h.Publish(s)
	server := httptest.NewServer(h)
	defer server.Close()
	resp, err := http.Get(server.URL + "/events")
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	if got, ok := next(t, bufio.NewReader(resp.Body)); !ok || got.Connection != "a value cannot be shown" {
		t.Errorf("a number that JSON does not know gives %+v", got)
	}
	h.Close()
	h.Close()
	h.Publish(running(2))
}
