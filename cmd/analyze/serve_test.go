package main

import (
	"bytes"
	"context"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"flywitness/vehicle"
)

// output is a buffer that a command and a test may use at the same time.
type output struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (o *output) Write(p []byte) (int, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.b.Write(p)
}

func (o *output) String() string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.b.String()
}

// serveDir starts `fw-analyze serve` on a free port and returns its address.
func serveDir(t *testing.T, dir string) string {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	var out, errs output
	done := make(chan int, 1)
	go func() {
		done <- analyze(ctx, []string{"serve", dir, "--listen", "127.0.0.1:0"}, strings.NewReader(""), &out, &errs)
	}()
	t.Cleanup(func() {
		cancel()
		if status := <-done; status != 0 {
			t.Errorf("serve ends with status %d: %s", status, errs.String())
		}
	})
	for range 500 {
		if line, _, ok := strings.Cut(out.String(), "\n"); ok {
			return line
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatalf("serve does not say its address: %s", errs.String())
	return ""
}

func copyDemo(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(demo)); err != nil {
		t.Fatal(err)
	}
	return dir
}

func fetch(t *testing.T, c *http.Client, method, address string, form url.Values) (string, *http.Response) {
	t.Helper()
	r, err := http.NewRequest(method, address, strings.NewReader(form.Encode()))
	if err != nil {
		t.Fatal(err)
	}
	if method == "POST" {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	resp, err := c.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(body), resp
}

// TestServeRunsTheDemo runs the demo's job from the page and finds the report that `fw-analyze job` would have written.
func TestServeRunsTheDemo(t *testing.T) {
	dir := copyDemo(t)
	address := serveDir(t, dir)
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	c := &http.Client{Jar: jar}
	if page, _ := fetch(t, c, "GET", address, nil); !strings.Contains(page, "Clutch and flywheel, Bench mule") || !strings.Contains(page, "before/monday.csv") {
		t.Errorf("the list: %s", page)
	}
	page, resp := fetch(t, c, "POST", address+"run", url.Values{"job": {"job.toml"}})
	for strings.Contains(page, `http-equiv="refresh"`) {
		time.Sleep(20 * time.Millisecond)
		page, resp = fetch(t, c, "GET", resp.Request.URL.String(), nil)
	}
	if !strings.Contains(page, "/report/job-report/report.html") {
		t.Fatalf("the run ends with %s", page)
	}
	report, _ := fetch(t, c, "GET", address+"report/job-report/report.html", nil)
	if !strings.Contains(report, "The clutch holds.") {
		t.Error("the report lacks its verdict")
	}
	if page, _ = fetch(t, c, "GET", address, nil); !strings.Contains(page, "The clutch holds.") {
		t.Error("the list lacks the verdict of the new report")
	}
	if page, resp = fetch(t, c, "GET", address+"log/after/friday.csv", nil); resp.StatusCode != 200 || !strings.Contains(page, "engine_speed_rpm") {
		t.Errorf("a log: %d", resp.StatusCode)
	}
	if u, _ := url.Parse(address); len(jar.Cookies(u)) != 0 {
		t.Error("a cookie was set")
	}
}

// TestServedJobCannotReadOutside: a job file may name files anywhere; the page does not open them.
func TestServedJobCannotReadOutside(t *testing.T) {
	dir := copyDemo(t)
	inner := filepath.Join(dir, "inner")
	if err := os.Mkdir(inner, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(inner, "job.toml"), []byte("title = \"out\"\nbefore = [\"../before/*.csv\"]\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	address := serveDir(t, inner)
	page, resp := fetch(t, http.DefaultClient, "POST", address+"run", url.Values{"job": {"job.toml"}})
	for strings.Contains(page, `http-equiv="refresh"`) {
		time.Sleep(20 * time.Millisecond)
		page, resp = fetch(t, http.DefaultClient, "GET", resp.Request.URL.String(), nil)
	}
	if !strings.Contains(page, "outside the folder") {
		t.Errorf("the run ends with %s", page)
	}
	if _, err := os.Stat(filepath.Join(inner, "job-report")); err == nil {
		t.Error("a report was written")
	}
}

func TestServeRefusals(t *testing.T) {
	for _, args := range [][]string{{"serve", "nowhere"}, {"serve", t.TempDir(), "--listen", "nonsense"}, {"serve", t.TempDir(), "--listen", "192.0.2.1:1"}} {
		if status, out, errs := run(args...); status != 1 || out != "" || strings.Count(errs, "\n") != 1 {
			t.Errorf("%q: status %d, %q", args, status, errs)
		}
	}
}

// TestServeTakesDroppedLogs drops the logs of the demo into the page of an empty folder: the job is made with what they teach, run, and
// the car has a history.
func TestServeTakesDroppedLogs(t *testing.T) {
	dir := t.TempDir()
	address := serveDir(t, dir)
	var b bytes.Buffer
	form := multipart.NewWriter(&b)
	for side, name := range map[string]string{"before": "monday.csv", "after": "friday.csv"} {
		w, err := form.CreateFormFile(side, name)
		if err != nil {
			t.Fatal(err)
		}
		data, err := os.ReadFile(filepath.Join(demo, side, name))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(data); err != nil {
			t.Fatal(err)
		}
	}
	for field, answer := range map[string]string{"name": "Bench mule", "mass": "1310 kg", "gearbox": "manual", "rating": "340 N m", "date": "2026-03-27"} {
		if err := form.WriteField(field, answer); err != nil {
			t.Fatal(err)
		}
	}
	form.Close()
	resp, err := http.Post(strings.TrimSuffix(address, "/")+"/new", form.FormDataContentType(), &b)
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	at := resp.Request.URL.String() // the page of the run
	c := &http.Client{}
	for range 300 {
		page, _ := fetch(t, c, "GET", at, nil)
		if strings.Contains(page, "Open the report") {
			break
		}
		if strings.Contains(page, "not finished") || strings.Contains(page, "did not work") {
			t.Fatal(page)
		}
		time.Sleep(100 * time.Millisecond)
	}
	if page, _ := fetch(t, c, "GET", address+"report/Bench-mule/job-report/report.html", nil); !strings.Contains(page, "The clutch holds") {
		t.Error("the report does not tell of the clutch")
	}
	page, _ := fetch(t, c, "GET", address+"car/Bench%20mule", nil)
	for _, want := range []string{"<title>Bench mule</title>", "Slip, %", "Torque, N m", "Inertia, kg m", "47 %"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page of the car has no %q", want)
		}
	}
	v, _, err := vehicle.Load(filepath.Join(dir, "Bench-mule", "car.toml"))
	if err != nil || len(v.Gearbox.Learnt) != 5 || v.Clutch == nil || v.Clutch.TorqueRating != 340 {
		t.Errorf("%v %+v", err, v)
	}
}
