package report

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"flywitness/analysis"
	"flywitness/analysis/calibrate"
	"flywitness/analysis/compare"
	"flywitness/analysis/inertia"
	"flywitness/analysis/promise"
	"flywitness/analysis/slip"
	"flywitness/dashboards/internal/sample"
	"flywitness/dashboards/web"
	"flywitness/figure"
	"flywitness/finding"
	"flywitness/internal/browser"
	"flywitness/internal/numbers"
	"flywitness/job"

	"github.com/chromedp/chromedp"
)

func render(t *testing.T, r *analysis.Result) string {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, r, Options{Units: figure.Metric}); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func onDisk(t *testing.T, html string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "report.html")
	if err := os.WriteFile(path, []byte(html), 0o644); err != nil {
		t.Fatal(err)
	}
	return "file://" + path
}

func TestReportInTheBrowser(t *testing.T) {
	numbers.Only(t)
	url := onDisk(t, render(t, sample.Job()))
	p := browser.Open(t)
	for _, s := range []struct {
		name          string
		width, height int64
		scheme        string
	}{{"light", 1100, 900, "light"}, {"dark", 1100, 900, "dark"}, {"phone", 390, 800, "light"}, {"phone-dark", 390, 800, "dark"}} {
		p.Screen(s.width, s.height, s.scheme)
		p.Visit(url)
		if browser.Eval[bool](p, `document.documentElement.scrollWidth > window.innerWidth`) {
			t.Errorf("%s: the page is wider than the screen", s.name)
		}
		if bottom := browser.Eval[float64](p, `document.querySelector(".headline").getBoundingClientRect().bottom`); bottom > float64(s.height) {
			t.Errorf("%s: the verdict ends at %.0f, below the first screen", s.name, bottom)
		}
		if cut := browser.Eval[string](p, cutLabels); cut != "" {
			t.Errorf("%s: these labels reach out of their picture: %s", s.name, cut)
		}
		p.Picture("report-" + s.name)
	}
	zoom(t, p)
	p.Clean(url)
	crowded := onDisk(t, render(t, muchToSay()))
	for name, paper := range map[string]chromedp.PaperSize{"a4": chromedp.PaperA4, "letter": chromedp.PaperLetter} {
		p.Visit(url)
		checkPrint(t, name, p.PDF(paper))
		p.Visit(crowded)
		checkPrint(t, name+"-crowded", p.PDF(paper))
	}
}

// cutLabels lists the labels of the still pictures that do not lie wholly inside; those that a zoomable chart hides are shown for it.
const cutLabels = `(() => {
	for (const f of document.querySelectorAll("figure.zoomable")) f.classList.replace("zoomable", "shown");
	const out = [];
	for (const t of document.querySelectorAll("figure svg text")) {
		const b = t.getBoundingClientRect(), p = t.closest("svg").getBoundingClientRect();
		if (b.width > 0 && (b.left < p.left - 1 || b.right > p.right + 1 || b.top < p.top - 2 || b.bottom > p.bottom + 2)) out.push(t.textContent);
	}
	for (const f of document.querySelectorAll("figure.shown")) f.classList.replace("shown", "zoomable");
	return out.join("; ");
})()`

// zoom drags over a chart, reads a value at the cursor and goes back to the whole; nothing to do where the script was not
// built in.
func zoom(t *testing.T, p *browser.Page) {
	if script, _ := web.Charts(); script == "" {
		t.Log("the charts' script is not built in (make web): still pictures only")
		return
	}
	p.Screen(1100, 900, "light")
	p.Do(chromedp.Reload())
	p.Until(`document.querySelector("figure.zoomable .u-over")`)
	p.Do(chromedp.ScrollIntoView(chromedp.CSS("figure.zoomable .u-over")))
	box := browser.Eval[[]float64](p, `(r => [r.left, r.top, r.width, r.height])(document.querySelector("figure.zoomable .u-over").getBoundingClientRect())`)
	span := `(f => f.dataset.to - f.dataset.from)(document.querySelector("figure.zoomable"))`
	whole := browser.Eval[float64](p, span)
	y := box[1] + box[3]/2
	p.Do(chromedp.DragAndDropXY(box[0]+box[2]*0.25, y, box[0]+box[2]*0.5, y, 5))
	p.Until(span + ` < ` + fmt.Sprint(whole*0.3))
	if got := browser.Eval[float64](p, span); got < whole*0.2 {
		t.Errorf("a drag over a quarter shows %.3g of %.3g", got, whole)
	}
	p.Picture("report-zoomed")
	p.Do(chromedp.MouseEvent("mouseMoved", box[0]+box[2]*0.4, y))
	p.Until(`/[0-9]/.test(document.querySelector("figure.zoomable .readout").textContent)`)
	p.Click("figure.zoomable .zoom button:last-of-type")
	p.Until(fmt.Sprintf("Math.abs(%s - %g) < 1e-6", span, whole))
}

// muchToSay is a job with two promises, a doubt and long answers.
func muchToSay() *analysis.Result {
	r := sample.Job()
	r.Compare.SidesDoubt = finding.Say(finding.New(finding.RecordedBackwards))
	clutch := promise.Promise{Kind: promise.Torque, Amount: 230}
	seen := promise.Clutch{Torque: r.Compare.SlipAfter.HighestTorqueHeld}
	outcome := clutch.JudgeClutch(seen)
	r.Job.ClutchClaim = &analysis.ClutchClaim{StatedTorque: 230, Measured: seen.Torque, Outcome: outcome, Verdict: outcome.Verdict(), Promise: clutch, Seen: seen,
		Reason: clutch.ClutchSentence(seen, outcome)}
	return r
}

// plain is a text with ordinary blanks.
func plain(s string) string { return strings.ReplaceAll(s, "\u00a0", " ") }

// checkPrint turns the PDF into text and pictures: the first page is the whole sheet to hand over, from the workshop's name to the signatures, and no more; what
// follows is numbered; no page is blank.
func checkPrint(t *testing.T, name string, pdf []byte) {
	t.Helper()
	dir := t.TempDir()
	if d := os.Getenv("PAGE_PICTURES"); d != "" {
		dir = d
	}
	file := filepath.Join(dir, "report-"+name+".pdf")
	if err := os.WriteFile(file, pdf, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := exec.LookPath("pdftoppm"); err != nil {
		t.Log("no pdftoppm (Debian: poppler-utils): the print is not looked at")
		return
	}
	text, err := exec.Command("pdftotext", "-layout", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	pages := strings.Split(strings.TrimSuffix(string(text), "\f"), "\f")
	for _, want := range []string{"Quarry Lane", "M. Sample", "FW 26 MULE", "148620 km", "The rotating inertia fell by 23 %.", "Slip against the torque", "Promised",
		"not an approval", "What the signatures say", "customer: name"} {
		if !strings.Contains(plain(pages[0]), want) {
			t.Errorf("%s: %q is not on the first page", name, want)
		}
	}
	if strings.Contains(pages[0], "you lifted") || !strings.Contains(pages[1], "Annex") {
		t.Errorf("%s: the annex does not begin with the second page", name)
	}
	for i, p := range pages {
		if want := fmt.Sprintf("page %d of %d", i+1, len(pages)); !strings.Contains(p, want) {
			t.Errorf("%s: %q does not stand on it", name, want)
		}
	}
	if len(pages) > 18 {
		t.Errorf("%s: %d pages", name, len(pages))
	}
	prefix := filepath.Join(dir, name)
	if out, err := exec.Command("pdftoppm", "-r", "40", "-gray", file, prefix).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	pictures, err := filepath.Glob(prefix + "-*.pgm")
	if err != nil || len(pictures) != len(pages) {
		t.Fatalf("%s: %d pictures of %d pages, %v", name, len(pictures), len(pages), err)
	}
	for _, p := range pictures {
		data, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		dark := 0
		for _, v := range data[16:] {
			if v < 128 {
				dark++
			}
		}
		if share := float64(dark) / float64(len(data)); share < 0.001 || share > 0.4 {
			t.Errorf("%s: %.2f %% of the page is ink", filepath.Base(p), 100*share)
		}
	}
}

func TestWithoutScriptsEverythingIsThere(t *testing.T) {
	var b bytes.Buffer
	if err := Write(&b, sample.Job(), Options{Still: true}); err != nil {
		t.Fatal(err)
	}
	html := b.String()
	if strings.Contains(html, "<script") || !strings.Contains(html, "script-src &#39;none&#39;") {
		t.Error("a still page carries or allows a script")
	}
	for _, want := range []string{"The rotating inertia fell by 23\u00a0%.", "It slipped.", "<svg ", "you lifted, the car kept the throttle open", "before/first.csv",
		"9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08", "signature", "620 km"} {
		if !strings.Contains(html, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	order := []string{"Quarry Lane", "240 mm disc", "fell by 23\u00a0%", "Slip against the torque", "What the signatures say", "Annex: the numbers", "Rotating inertia, before and after",
		"What was not used", "Sessions", "Conditions", "Where the numbers come from", "Before you act"}
	last := 0
	for _, part := range order {
		at := strings.Index(html, part)
		if at < last {
			t.Errorf("%q stands before what comes before it", part)
		}
		last = at
	}
}

func TestNothingComesFromOutside(t *testing.T) {
	numbers.Only(t)
	html := render(t, sample.Job())
	for _, m := range regexp.MustCompile(`(?i)(src|href|action)\s*=|url\(|@import|https?://[^\s"'<>]*`).FindAllString(html, -1) {
		if m != "https://github.com/leeoniya/uPlot" { // the licence line of the chart library
			t.Errorf("the page refers to %q", m)
		}
	}
}

func TestHostileNamesAreOnlyText(t *testing.T) {
	numbers.Only(t)
	r := sample.Job()
	const bad = `<script>alert(1)</script>"'&</style><img src=x onerror=alert(2)>` + "`${1}`"
	r.Job.Title, r.Job.Done, r.Job.Customer, r.Job.Registration, r.Job.VIN, r.Job.Date = bad, bad, bad, bad, bad, bad
	r.Job.Shop = &analysis.Shop{Name: bad, Address: []string{bad}, Logo: &job.Logo{Type: `image/png" onload="alert(3)`, Data: []byte(bad)}}
	r.Vehicle = &analysis.VehicleInfo{Name: bad, Path: bad, SHA256: bad, Facts: []analysis.Fact{{Name: bad, Value: finding.Say(finding.Told("", bad))}}}
	r.Inputs[0].Path, r.Inputs[0].Created, r.Inputs[0].Header = bad, bad, map[string]string{bad: bad}
	r.Inputs[0].Channels[0].Name = "<script>"
	r.Warnings[0] = finding.New(finding.DoubtfulColumn, finding.Name("file", bad), finding.Name("channel", bad), finding.Name("column", bad))
	r.Compare.Reason, r.Compare.SlipBefore.Reason, r.Compare.SlipBefore.Pattern = finding.Say(finding.Told("", bad)), finding.Say(finding.Told("", bad)), bad
	r.Compare.Before.Runs[3].WhyNot = finding.Say(finding.Told("", bad))
	r.Compare.Claim.Stated[bad] = 1
	html := render(t, r)
	p := browser.Open(t)
	p.Visit(onDisk(t, html))
	if n := browser.Eval[int](p, `document.querySelectorAll("img, [onload], [onerror]").length`); n != 1 {
		t.Errorf("%d pictures, want the logo alone", n)
	}
	if n := browser.Eval[int](p, `[...document.scripts].filter(s => s.textContent.includes("alert(1)") && s.type !== "application/json").length`); n != 0 {
		t.Errorf("%d scripts came out of names", n)
	}
	if got := p.Text("h1"); got != bad {
		t.Errorf("the title reads %q", got)
	}
	p.Clean("file://")
}

func TestSizeAndTime(t *testing.T) {
	numbers.Only(t)
	r := sample.Job()
	start := time.Now()
	html := render(t, r)
	if d := time.Since(start); d > 500*time.Millisecond && !raceOn {
		t.Errorf("written in %v, more than half a second", d)
	}
	if len(html) > 1_500_000 {
		t.Errorf("%d bytes, more than 1.5 MB", len(html))
	}
	// A long job: eight sessions a side.
	for _, f := range []*slip.Finding{r.Compare.SlipBefore, r.Compare.SlipAfter} {
		for range 7 {
			f.Traces = append(f.Traces, f.Traces[0])
		}
	}
	long := render(t, r)
	if len(long) > 1_500_000 {
		t.Errorf("a long job: %d bytes, more than 1.5 MB", len(long))
	}
	t.Logf("%d bytes, a long job %d", len(html), len(long))
}

// TestPartialResults writes reports of what is not there: no findings, no calibration, empty findings.
func TestPartialResults(t *testing.T) {
	for name, r := range map[string]*analysis.Result{
		"nothing":       {Command: "slip"},
		"empty slip":    {Command: "slip", Slip: &slip.Finding{Verdict: slip.Inconclusive, Reason: finding.Say(finding.Told("", "no pull in the log"))}},
		"empty compare": {Command: "job", Compare: &compare.Finding{Before: &inertia.Finding{}, After: &inertia.Finding{}, Fit: &compare.RatioFit{}}},
		"before only":   {Command: "job", Compare: &compare.Finding{Before: &inertia.Finding{}, SlipBefore: &slip.Finding{}}},
		"inertia":       {Command: "inertia", Inertia: &inertia.Finding{}},
		"learn":         {Command: "learn", Calibration: &calibrate.Calibration{}},
		"slip":          sample.SlipResult(true),
	} {
		if html := render(t, r); !strings.Contains(html, "signature") {
			t.Errorf("%s: the page is cut short", name)
		}
	}
}

func BenchmarkWrite(b *testing.B) {
	r := sample.Job()
	for b.Loop() {
		if err := Write(io.Discard, r, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
