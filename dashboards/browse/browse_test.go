package browse

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"flywitness/analysis"
	"flywitness/analysis/slip"
	"flywitness/capture/csvlog"
	"flywitness/capture/source"
	"flywitness/dashboards/internal/sample"
	"flywitness/dashboards/report"
	"flywitness/dashboards/web"
	"flywitness/drive"
	"flywitness/figure"
	"flywitness/internal/browser"
)

const hostile = `<script>alert(1)<!-- & "' #%3f.csv`

// folder lays out a folder: a job with its report, a broken job, logs, a hostile name, a link that leads out.
func folder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	write := func(name, text string) {
		t.Helper()
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	monday, err := os.ReadFile("../../testdata/demo/before/monday.csv")
	if err != nil {
		t.Fatal(err)
	}
	write("bench/before/monday.csv", string(monday))
	write("bench/job.toml", "title = \"Bench <b>mule</b>\"\nbefore = [\"before/*.csv\"]\n")
	write("bench/slow.toml", "title = \"Slow\"\nbefore = [\"before/*.csv\"]\n")
	write("bench/mule.toml", "[vehicle]\nmass_kg = 1285\n")
	write("bench/broken.toml", "title = 3\nbefore = [\"nothing/*.csv\"]\n")
	write("bench/"+hostile, string(monday))
	write(".hidden/secret.csv", "time_s,engine_speed_rpm,vehicle_speed_kmh\n")
	outside := filepath.Join(t.TempDir(), "outside.csv")
	if err := os.WriteFile(outside, monday, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(outside, filepath.Join(dir, "link.csv")); err != nil {
		t.Fatal(err)
	}
	return dir
}

// analyst reads real logs; running a job writes the invented result, except for the slow one, which waits to be cancelled.
func analyst() Analyst {
	return Analyst{
		Title: func(path string) (string, error) {
			switch filepath.Base(path) {
			case "broken.toml":
				return "", fmt.Errorf("%s:1:9: title must be a text", path)
			case "slow.toml":
				return "Slow", nil
			}
			return "Bench <b>mule</b>", nil
		},
		Run: func(ctx context.Context, path, out string, inside func(string) error, progress func(string)) error {
			progress("Reading 4 files")
			if filepath.Base(path) == "slow.toml" {
				<-ctx.Done()
				return ctx.Err()
			}
			if err := inside(filepath.Join(filepath.Dir(path), "before/monday.csv")); err != nil {
				return err
			}
			return writeSample(out)
		},
		Read: func(r io.Reader, name string) (*drive.Log, error) { return source.Read(r, name, csvlog.Options{}) },
		Now:  func() time.Time { return time.Date(2026, 5, 9, 12, 0, 0, 0, time.UTC) },
		Judge: func(l *drive.Log) *analysis.Result {
			return analysis.Slip(analysis.Set{Logs: []*drive.Log{l}}, slip.Options{})
		},
	}
}

func writeSample(out string) error {
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	data, err := json.Marshal(sample.Job())
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(out, "result.json"), data, 0o644); err != nil {
		return err
	}
	f, err := os.Create(filepath.Join(out, "report.html"))
	if err != nil {
		return err
	}
	defer f.Close()
	return report.Write(f, sample.Job(), report.Options{})
}

// serve starts the server on a free port and returns its address.
func serve(t *testing.T, dir string) string {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	s, err := New(ctx, dir, analyst(), figure.Metric)
	if err != nil {
		t.Fatal(err)
	}
	l, err := web.Listen("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() { done <- web.Serve(ctx, l, web.Handler(s, l.Addr(), web.Limits{}), web.Limits{}) }()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
		s.Close()
	})
	return "http://" + l.Addr().String()
}

func TestBrowseOpenRunCancel(t *testing.T) {
	url := serve(t, folder(t))
	p := browser.Open(t)
	p.Screen(1100, 900, "light")
	p.Visit(url + "/")
	if s := p.Text("main"); !strings.Contains(s, "Bench <b>mule</b>") || !strings.Contains(s, hostile) || !strings.Contains(s, "title must be a text") || strings.Contains(s, "secret") {
		t.Errorf("the list reads %q", s)
	}
	p.Picture("browse-empty")

	// Run a job, open its report.
	p.Click(`input[value="bench/job.toml"] + button`)
	p.Until(`document.querySelector("#done")`)
	p.Click("#done")
	p.Until(`document.querySelector(".headline") && document.querySelector(".headline").textContent === "The clutch holds."`)
	if script, _ := web.Charts(); script != "" {
		p.Until(`document.querySelector("figure.zoomable")`) // its charts work in the sandbox too
	}
	p.Visit(url + "/")
	if s := p.Text("main"); !strings.Contains(s, "The rotating inertia fell by 23 %.") || !strings.Contains(s, "Run again") {
		t.Errorf("after the run the list reads %q", s)
	}
	p.Picture("browse-light")
	p.Screen(390, 800, "dark")
	p.Visit(url + "/")
	p.Picture("browse-phone-dark")
	if browser.Eval[bool](p, `document.documentElement.scrollWidth > window.innerWidth`) {
		t.Error("the list is wider than a phone")
	}

	// Cancel one.
	p.Screen(1100, 900, "light")
	p.Click(`input[value="bench/slow.toml"] + button`)
	p.Until(`document.body.textContent.includes("Reading 4 files")`)
	p.Picture("browse-run")
	p.Click("button")
	p.Until(`document.body.textContent.includes("Cancelled.")`)

	// Look at a log, the hostile one.
	p.Visit(url + "/log/bench/" + string(link(hostile)))
	if s := p.Text("h1"); s != hostile {
		t.Errorf("the log's page is headed %q", s)
	}
	if n := browser.Eval[int](p, `document.querySelectorAll("svg[role=img]").length`); n != 2 {
		t.Errorf("%d pictures on the log's page", n)
	}
	if script, _ := web.Charts(); script != "" {
		p.Until(`document.querySelector("#drive.zoomable .u-over")`)
		p.Click("#drive .zoom button")
		p.Until(`(f => f.dataset.to - f.dataset.from < 400)(document.querySelector("#drive"))`)
	}
	if s := p.Text("main"); !strings.Contains(s, "engine_speed_rpm") || strings.Contains(s, "%!") {
		t.Errorf("the log's page reads %q", s)
	}
	p.Picture("browse-log")
	p.Clean(url)
}

func get(t *testing.T, s http.Handler, method, target string, form url.Values) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest(method, target, strings.NewReader(form.Encode()))
	if method == "POST" {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w
}

// TestNoPathLeavesTheFolder tries the usual ways out.
func TestNoPathLeavesTheFolder(t *testing.T) {
	dir := folder(t)
	s, err := New(t.Context(), dir, analyst(), figure.Metric)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if w := get(t, s, "GET", "/log/bench/before/monday.csv", nil); w.Code != 200 {
		t.Fatalf("an ordinary log: %d", w.Code)
	}
	for _, p := range []string{"/log/../outside.csv", "/log/%2e%2e/outside.csv", "/log/..%2foutside.csv", "/log/bench/../../outside.csv", "/log//etc/passwd", "/log/%2fetc%2fpasswd",
		"/log/link.csv", "/log/.hidden/secret.csv", "/log/bench", "/log/bench/mule.toml", "/log/", "/log/a%00.csv", "/log/" + strings.Repeat("a/", 3000) + "b.csv",
		"/report/bench/job.toml", "/report/../x.html", "/report/link.csv", "/result/bench/mule.toml", "/run/1", "/run/x", "/nowhere"} {
		w := get(t, s, "GET", p, nil)
		if w.Code < 300 || w.Code >= 500 || strings.Contains(w.Body.String(), "root:") {
			t.Errorf("%.40s: status %d", p, w.Code)
		}
	}
	for _, job := range []string{"", "../job.toml", "/etc/passwd", "bench/mule.toml", "link.csv", ".hidden/secret.csv", "bench"} {
		if w := get(t, s, "POST", "/run", url.Values{"job": {job}}); w.Code != 404 {
			t.Errorf("running %q: status %d", job, w.Code)
		}
	}
	if err := s.inside(filepath.Join(dir, "link.csv")); err == nil || !strings.Contains(err.Error(), "outside the folder") {
		t.Errorf("a link that leads out: %v", err)
	}
	if err := s.inside(filepath.Join(dir, "bench/job.toml")); err != nil {
		t.Error(err)
	}
}

func TestForeignReportIsKeptInASandbox(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "bad.html"), []byte(`<script>fetch("/run",{method:"POST"})</script>`), 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := New(t.Context(), dir, analyst(), figure.Metric)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	w := get(t, s, "GET", "/report/bad.html", nil)
	if p := w.Header().Get("Content-Security-Policy"); !strings.HasPrefix(p, "sandbox allow-scripts; default-src 'none'") || strings.Contains(p, "same-origin") {
		t.Errorf("policy %q", p)
	}
}

func TestOneRunAtATimeAndADefectIsToldNotFatal(t *testing.T) {
	dir := folder(t)
	a := analyst()
	gate := make(chan struct{})
	a.Run = func(ctx context.Context, path, out string, inside func(string) error, progress func(string)) error {
		<-gate
		if filepath.Base(path) == "job.toml" {
			panic("index out of range")
		}
		return errors.New(path + ": no engine speed")
	}
	s, err := New(t.Context(), dir, a, figure.Metric)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	first := get(t, s, "POST", "/run", url.Values{"job": {"bench/job.toml"}}).Header().Get("Location")
	second := get(t, s, "POST", "/run", url.Values{"job": {"bench/slow.toml"}}).Header().Get("Location")
	if first != "/run/1" || second != first {
		t.Errorf("two runs at a time: %q and %q", first, second)
	}
	gate <- struct{}{}
	page := func(at, want string) {
		t.Helper()
		for {
			body := get(t, s, "GET", at, nil).Body.String()
			if !strings.Contains(body, "refresh") {
				if !strings.Contains(body, want) || strings.Contains(body, dir+"/bench") && want != dir {
					t.Errorf("%s: the page lacks %q", at, want)
				}
				return
			}
		}
	}
	page(first, "defect of the program: index out of range")
	third := get(t, s, "POST", "/run", url.Values{"job": {"bench/slow.toml"}}).Header().Get("Location")
	gate <- struct{}{}
	page(third, "bench/slow.toml: no engine speed")
}
