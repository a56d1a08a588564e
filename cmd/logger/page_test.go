//go:build linux

package main

import (
	"context"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"flywitness/cmd/logger/guide"
	pages "flywitness/dashboards/live"
	"flywitness/figure"
	"flywitness/internal/browser"
)

var pageAddress = regexp.MustCompile(`http://127\.0\.0\.1:\d+/`)

// TestLivePageOfARecording looks at the page of a recording from the emulated car while the plug is pulled and put back.
func TestLivePageOfARecording(t *testing.T) {
	t.Parallel()
	port := filepath.Join(t.TempDir(), "adapter")
	pull := plug(t, port, "--link", "canmulti", "--drive", "idle")
	ctx, cancel := context.WithCancel(context.Background())
	var out, msgs buffer
	done := make(chan int, 1)
	file := filepath.Join(t.TempDir(), "<script>.csv")
	go func() {
		done <- logger(ctx, []string{"record", "--port", port, "--baud", "115200", "--out", file, "--serve", "127.0.0.1:0"}, strings.NewReader(""), &out, &msgs)
	}()
	address := ""
	for i := 0; i < 400 && address == ""; i++ {
		time.Sleep(25 * time.Millisecond)
		address = pageAddress.FindString(msgs.String())
	}
	if address == "" {
		t.Fatalf("no address: %s", msgs.String())
	}
	p := browser.Open(t)
	p.Visit(address)
	value := `Number(document.getElementById("rpm").textContent)`
	p.Until(value + " > 500")
	p.Until(`document.getElementById("rates").textContent.includes("engine_speed_rpm")`)
	p.Until(`document.querySelector("#plot .engine").getAttribute("d").split("L").length > 5`)
	if got := p.Text("#learning"); !strings.Contains(got, "not learnt yet") {
		t.Errorf("an idling car has shown no gearing, and the page says %q", got)
	}
	if got := p.Text("#file"); got != file {
		t.Errorf("the file reads %q", got)
	}
	pull()
	p.Until(`document.getElementById("connection").textContent.startsWith("nothing from the car")`)
	p.Until(`document.getElementById("rpm").textContent === "–"`)
	t.Cleanup(plug(t, port, "--link", "canmulti", "--drive", "idle"))
	p.Until(`document.getElementById("connection").textContent === "connected" && ` + value + " > 500")
	p.Clean(address)
	cancel()
	p.Until(`document.getElementById("connection").textContent === "The recording has ended."`)
	if status := <-done; status != 0 {
		t.Errorf("status %d: %s", status, msgs.String())
	}
}

func TestServeAddressIsCheckedBeforeTheRecording(t *testing.T) {
	if _, err := newPage("nonsense", nil, "x.csv", figure.Metric, func(string) {}); err == nil || !strings.Contains(err.Error(), "127.0.0.1:8321") {
		t.Errorf("nonsense: %v", err)
	}
	if p, err := newPage("", nil, "x.csv", figure.Metric, nil); p != nil || err != nil {
		t.Errorf("no address: %v %v", p, err)
	}
}

// The page understands what the guide says.
func TestPageHearsTheGuide(t *testing.T) {
	said := 0
	p := &page{hub: pages.NewHub()}
	hear := p.hear(func(string) { said++ })
	hear(guide.Message{About: guide.Begins, Step: 3, Title: "Free revs, 6 good ones",
		Text: "standing, lever in neutral. Rev to about 4000 rpm."})
	hear(guide.Message{About: guide.Judged, Text: "Not used: free rev, the accelerator was not let go at once."})
	hear(guide.Message{About: guide.Lift, Text: "LIFT: the clutch slips."})
	s := p.state
	if s.Step == nil || s.Step.Number != 3 || s.Step.Title != "Free revs, 6 good ones" || !strings.HasPrefix(s.Step.Text, "standing") {
		t.Errorf("step %+v", s.Step)
	}
	hear(guide.Message{Text: "Rest: two minutes at idle."})
	if p.state.Step.Title != "Free revs, 6 good ones" || p.state.Step.Text != "Rest: two minutes at idle." || said != 4 {
		t.Errorf("after a word between: %+v, %d sentences passed on", p.state.Step, said)
	}
	var none *page
	none.hear(func(string) { said++ })(guide.Message{Text: "x"})
	if said != 5 {
		t.Error("without a page the sentence was lost")
	}
}
