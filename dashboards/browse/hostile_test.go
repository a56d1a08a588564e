//go:build unix

package browse

import (
	"context"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"flywitness/analysis"
	"flywitness/drive"
	"flywitness/figure"
)

// within fails the test when something takes longer than it may: a named pipe would be waited for without end.
func within(t *testing.T, what string, f func()) {
	t.Helper()
	done := make(chan bool)
	go func() { defer close(done); f() }()
	select {
	case <-done:
	case <-time.After(10 * time.Second):
		t.Fatalf("%s hangs", what)
	}
}

// ran runs a job from the page and returns the page that it ends with.
func ran(t *testing.T, s http.Handler, job string) string {
	t.Helper()
	at := get(t, s, "POST", "/run", url.Values{"job": {job}}).Header().Get("Location")
	for range 2000 {
		if body := get(t, s, "GET", at, nil).Body.String(); !strings.Contains(body, "refresh") {
			return body
		}
		time.Sleep(5 * time.Millisecond)
	}
	t.Fatal("the run does not end")
	return ""
}

func TestOnlyRegularFiles(t *testing.T) {
	dir := folder(t)
	for _, name := range []string{"bench/pipe.csv", "bench/pipe.toml", "bench/result.json", "bench/report.html"} {
		if err := syscall.Mkfifo(filepath.Join(dir, name), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	s, err := New(t.Context(), dir, analyst(), figure.Metric)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	within(t, "the server", func() {
		for _, p := range []string{"/", "/log/bench/pipe.csv", "/result/bench/result.json", "/report/bench/report.html"} {
			if w := get(t, s, "GET", p, nil); p != "/" && w.Code != http.StatusNotFound || p == "/" && w.Code != 200 {
				t.Errorf("%s: status %d", p, w.Code)
			}
		}
		if w := get(t, s, "POST", "/run", url.Values{"job": {"bench/pipe.toml"}}); w.Code != http.StatusNotFound {
			t.Errorf("running a pipe: %d", w.Code)
		}
		if err := s.usable(filepath.Join(dir, "bench/pipe.csv")); err == nil || !strings.Contains(err.Error(), "not a regular file") {
			t.Errorf("a pipe that a job names: %v", err)
		}
	})
}

func TestLinksAreResolvedBeforeWriting(t *testing.T) {
	for _, c := range []string{"folder", "file", "parent"} {
		dir, outside := folder(t), t.TempDir()
		job := "bench/job.toml"
		var err error
		switch c {
		case "folder":
			err = os.Symlink(outside, filepath.Join(dir, "bench/job-report"))
		case "file":
			if err = os.Mkdir(filepath.Join(dir, "bench/job-report"), 0o755); err == nil {
				err = os.Symlink(filepath.Join(outside, "x.html"), filepath.Join(dir, "bench/job-report/report.html"))
			}
		case "parent":
			err = os.Symlink(outside, filepath.Join(dir, "away"))
			job = "away/job.toml"
			if err == nil {
				err = os.WriteFile(filepath.Join(outside, "job.toml"), []byte("before = [\"x.csv\"]\n"), 0o644)
			}
		}
		if err != nil {
			t.Fatal(err)
		}
		before, _ := os.ReadDir(outside)
		s, err := New(t.Context(), dir, analyst(), figure.Metric)
		if err != nil {
			t.Fatal(err)
		}
		if c == "parent" {
			if w := get(t, s, "POST", "/run", url.Values{"job": {job}}); w.Code != http.StatusNotFound {
				t.Errorf("%s: status %d", c, w.Code)
			}
		} else if page := ran(t, s, job); !strings.Contains(page, "is in the way of the report") {
			t.Errorf("%s: %s", c, page)
		}
		if after, _ := os.ReadDir(outside); len(after) != len(before) {
			t.Errorf("%s: something was written outside", c)
		}
		s.Close()
	}
}

func TestGlobsStayInTheFolder(t *testing.T) {
	dir := folder(t)
	outside := t.TempDir()
	for name, text := range map[string]string{
		"up":     "before = [\"../../../*.csv\"]",
		"root":   "before = [\"/etc/*\"]",
		"hidden": "before = [\"*/../../../*/*.csv\"]",
		"nested": "[[session]]\nside = \"before\"\nfiles = [\"" + outside + "/*.csv\"]\nbefore = []",
		"car":    "vehicle = \"" + outside + "/mule.toml\"\nbefore = [\"before/*.csv\"]",
	} {
		if err := os.WriteFile(filepath.Join(dir, "bench", name+".toml"), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	a := analyst()
	var mu sync.Mutex
	var looked []string
	title := a.Title
	a.Title = func(path string) (string, error) {
		mu.Lock()
		defer mu.Unlock()
		looked = append(looked, filepath.Base(path))
		return title(path)
	}
	s, err := New(t.Context(), dir, a, figure.Metric)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	body := get(t, s, "GET", "/", nil).Body.String()
	for _, name := range []string{"up", "root", "hidden", "nested", "car"} {
		if strings.Contains(strings.Join(looked, " "), name+".toml") {
			t.Errorf("%s: its globs were looked for", name)
		}
		if page := ran(t, s, "bench/"+name+".toml"); !strings.Contains(page, "outside the folder") {
			t.Errorf("%s: %s", name, page)
		}
	}
	if n := strings.Count(body, "outside the folder"); n != 5 || strings.Contains(strings.Join(looked, " "), "job.toml") == false {
		t.Errorf("the list tells of %d, looked at %v", n, looked)
	}
}

func TestTwoHeavyReadsAtATime(t *testing.T) {
	dir := folder(t)
	a := analyst()
	gate := make(chan bool)
	var now, most atomic.Int32
	read := a.Judge
	a.Judge = func(l *drive.Log) *analysis.Result {
		n := now.Add(1)
		for m := most.Load(); n > m && !most.CompareAndSwap(m, n); m = most.Load() {
		}
		<-gate
		now.Add(-1)
		return read(l)
	}
	s, err := New(t.Context(), dir, a, figure.Metric)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	var readers sync.WaitGroup
	for range 5 {
		readers.Go(func() {
			if w := get(t, s, "GET", "/log/bench/before/monday.csv", nil); w.Code != 200 {
				t.Errorf("status %d", w.Code)
			}
		})
	}
	within(t, "the second reader", func() {
		for now.Load() < mostHeavy {
			time.Sleep(time.Millisecond)
		}
	})
	for range 5 {
		gate <- true
	}
	readers.Wait()
	if most.Load() != mostHeavy {
		t.Errorf("%d at a time, want %d", most.Load(), mostHeavy)
	}
	crowd := make(heavy, 1)
	crowd <- struct{}{}
	if _, err := crowd.take(t.Context(), 0); err != errCrowded {
		t.Errorf("no turn, and %v", err)
	}
}

// A job is cancelled in the middle of a step that never looks: the page says so at once, and nothing is written afterwards.
func TestCancelInsideAStep(t *testing.T) {
	dir := folder(t)
	a := analyst()
	deaf, ended := make(chan bool), make(chan error, 1)
	a.Run = func(ctx context.Context, path, out string, _ func(string) error, progress func(string)) error {
		progress("Judging clutch and inertia")
		<-deaf
		if strings.HasSuffix(path, "job.toml") { // the other job of this test is not cancelled
			ended <- ctx.Err()
		}
		return ctx.Err()
	}
	s, err := New(t.Context(), dir, a, figure.Metric)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	at := get(t, s, "POST", "/run", url.Values{"job": {"bench/job.toml"}}).Header().Get("Location")
	within(t, "the step", func() {
		for !strings.Contains(get(t, s, "GET", at, nil).Body.String(), "Judging") {
			time.Sleep(time.Millisecond)
		}
	})
	get(t, s, "POST", at+"/cancel", nil)
	within(t, "cancelling", func() {
		for !strings.Contains(get(t, s, "GET", at, nil).Body.String(), "Cancelled.") {
			time.Sleep(time.Millisecond)
		}
	})
	if second := get(t, s, "POST", "/run", url.Values{"job": {"bench/slow.toml"}}).Header().Get("Location"); second == at {
		t.Error("another job has to wait for the page of the one that was cancelled")
	}
	close(deaf)
	if err := <-ended; err == nil {
		t.Error("the step does not learn that it was cancelled")
	}
}
