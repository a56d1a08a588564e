package fleet

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"flywitness/analysis"
	"flywitness/analysis/fleet"
	"flywitness/analysis/stats"
	"flywitness/figure"
	"flywitness/internal/browser"

	"github.com/chromedp/chromedp"
)

// invented returns a fleet of n invented vehicles with ten jobs each: most are well, some are not.
func invented(n int) *analysis.Result {
	rnd := rand.New(rand.NewPCG(3, 5))
	var list []fleet.Entry
	start := time.Date(2024, 1, 10, 9, 0, 0, 0, time.UTC)
	for v := range n {
		rating := 240 + 20*float64(rnd.IntN(8))
		inertia := 0.12 + 0.1*rnd.Float64()
		for k := range 10 {
			e := fleet.Entry{Vehicle: fmt.Sprintf("Delivery van %d", v+1), Job: fmt.Sprintf("Yearly check %d", k+1), Side: fleet.After, Done: "none",
				Time: start.AddDate(0, 0, 80*k+rnd.IntN(30)), Slip: "holds", Rating: &rating}
			switch {
			case k == 4:
				e.Side, e.Job, e.Done = fleet.Before, "Clutch and flywheel", "240 mm disc"
			case k == 5:
				inertia *= 0.75
				e.Compare = "reduced"
				fallthrough
			case k > 5:
				e.Done = "240 mm disc"
				if k == 5 {
					e.Job = "Clutch and flywheel"
				}
			}
			e.Inertia = stats.LogNormal(math.Log(inertia*(1+0.03*rnd.NormFloat64())), 0.04)
			e.Held = stats.Normal(rating*(0.7+0.25*rnd.Float64()), 9)
			if k == 9 && v%20 == 3 {
				e.Slip, e.Held, e.Onset = "slips", nil, stats.Normal(rating*0.5, 8)
			}
			if k == 9 && v%9 == 2 {
				e.Slip, e.Held = "inconclusive", nil
			}
			list = append(list, e)
		}
	}
	list[0].Vehicle = `<script>alert(1)</script> & "van" of an owner with a very long name that does not end`
	return &analysis.Result{Command: "fleet", Tool: analysis.Tool{Name: "flywitness analyze", Version: "test"},
		Fleet: fleet.Judge(list, fleet.Options{Now: time.Date(2026, 5, 9, 12, 0, 0, 0, time.UTC)})}
}

func TestPageInTheBrowser(t *testing.T) {
	var b bytes.Buffer
	if err := Write(&b, invented(12), figure.Metric, ""); err != nil {
		t.Fatal(err)
	}
	html := b.String()
	if strings.Contains(html, "<script>") || !strings.Contains(html, "&lt;script&gt;") {
		t.Error("a vehicle's name reaches the page as it is")
	}
	file := filepath.Join(t.TempDir(), "fleet.html")
	if d := os.Getenv("PAGE_PICTURES"); d != "" {
		file = filepath.Join(d, "fleet.html")
	}
	if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	p := browser.Open(t)
	for _, s := range []struct {
		name          string
		width, height int64
		scheme        string
	}{{"light", 1280, 900, "light"}, {"dark", 1280, 900, "dark"}, {"phone", 390, 800, "light"}, {"phone-dark", 390, 800, "dark"}} {
		p.Screen(s.width, s.height, s.scheme)
		p.Visit("file://" + file)
		if browser.Eval[bool](p, `document.documentElement.scrollWidth > window.innerWidth`) {
			t.Errorf("%s: the page is wider than the screen", s.name)
		}
		if bottom := browser.Eval[float64](p, `document.querySelector("#needs + p").getBoundingClientRect().bottom`); bottom > float64(s.height) {
			t.Errorf("%s: what is to be seen to ends at %.0f, below the first screen", s.name, bottom)
		}
		if n := browser.Eval[int](p, `[...document.querySelectorAll("section.vehicle figure svg[role=img]")].filter(s => s.getBoundingClientRect().width > 0).length`); n != 13 {
			t.Errorf("%s: %d curves are seen, want one for each of 13 vehicles", s.name, n)
		}
		p.Picture("fleet-" + s.name)
	}
	p.Clean("file://" + file)
	pdf := filepath.Join(t.TempDir(), "fleet.pdf")
	if d := os.Getenv("PAGE_PICTURES"); d != "" {
		pdf = filepath.Join(d, "fleet.pdf")
	}
	if err := os.WriteFile(pdf, p.PDF(chromedp.PaperA4), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Log("no pdftotext (Debian: poppler-utils): the print is not looked at")
		return
	}
	text, err := exec.Command("pdftotext", "-layout", pdf, "-").Output()
	if err != nil || !strings.Contains(strings.Split(string(text), "\f")[0], "To see to") {
		t.Errorf("the first page of the print does not say what to see to; %v", err)
	}
}

func TestWordsOfAFleet(t *testing.T) {
	r := invented(12)
	s := Words(r.Fleet, figure.Metric)
	if !strings.HasPrefix(s.Headline, "13 vehicles, ") || len(s.Rows) != 13 || len(s.Needs) == 0 || !s.Needs[0].Urgent {
		t.Errorf("%s, %d rows, %+v", s.Headline, len(s.Rows), s.Needs)
	}
	if us := Words(r.Fleet, figure.US); !strings.Contains(us.Needs[0].Text, "lbf ft") || !strings.Contains(us.Rows[12].Held, "lbf ft") || !strings.Contains(us.Rows[12].Inertia, "lb ft²") {
		t.Errorf("%+v %+v", us.Needs[0], us.Rows[12])
	}
	empty := Words(fleet.Judge(nil, fleet.Options{Now: time.Unix(0, 0)}), figure.Metric)
	if empty.Headline != "0 vehicles, 0 jobs. Nothing is due." {
		t.Error(empty.Headline)
	}
	var b bytes.Buffer
	if err := Write(&b, &analysis.Result{Fleet: fleet.Judge([]fleet.Entry{{Vehicle: "x"}}, fleet.Options{})}, figure.Metric, ""); err != nil {
		t.Error(err)
	}
}

// The page of one car: its name at the head, each job with its slip, three panels over time, what is to be seen to.
func TestPageOfOneCar(t *testing.T) {
	all := invented(4)
	one := all.Fleet.Vehicles[:0]
	for _, v := range all.Fleet.Vehicles {
		if v.Vehicle == "Delivery van 4" { // the one whose clutch slips at last
			one = append(one, v)
		}
	}
	if len(one) != 1 || one[0].Last.Slip != "slips" {
		t.Fatalf("%d vehicles", len(one))
	}
	most, least := 23.0, 3.7
	for i := range one[0].History {
		if one[0].History[i].Slip == "slips" {
			one[0].History[i].MostSlip = &most
		} else {
			one[0].History[i].Smallest = &least
		}
	}
	all.Fleet.Vehicles = one
	c := curve(one[0], figure.Metric)
	if len(c.Panels) != 3 || len(c.Panels[1].Whiskers) != 10 || c.Panels[1].Whiskers[9].Value != most || c.Panels[1].Whiskers[0].High != least {
		t.Errorf("panels %+v", c.Panels)
	}
	var b bytes.Buffer
	if err := Write(&b, all, figure.Metric, ""); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"<title>Delivery van 4</title>", "23 %", "below 3.7 %", "The clutch held", "<details open>"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no %q", want)
		}
	}
	if strings.Contains(b.String(), "1 vehicle,") {
		t.Error("the page of one car counts the vehicles")
	}
	if dir := os.Getenv("PAGE_PICTURES"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, "car.html"), b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
