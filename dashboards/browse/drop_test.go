package browse

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"mime/multipart"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"flywitness/analysis"
	"flywitness/dashboards/internal/sample"
	"flywitness/dashboards/web"
	"flywitness/figure"
)

type upload struct{ field, file, text string }

// dropping returns a server that takes files, behind its guard, and a function that posts a form to it.
func dropping(t *testing.T, dir string, begin func(dir string, answers map[string]string) error) (*Server, func(headers map[string]string, form ...upload) *httptest.ResponseRecorder) {
	t.Helper()
	a := analyst()
	a.Begin = func(_ context.Context, dir string, answers map[string]string) error {
		if err := os.WriteFile(filepath.Join(dir, "job.toml"), []byte("before = [\"before\"]\n"), 0o644); err != nil {
			return err
		}
		return begin(dir, answers)
	}
	s, err := New(t.Context(), dir, a, figure.Metric)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	s.AcceptFiles()
	h := web.Handler(s, &net.TCPAddr{IP: net.IPv4(127, 0, 0, 1), Port: 8322}, web.Limits{Large: map[string]int64{DropPath: 1 << 20}})
	return s, func(headers map[string]string, form ...upload) *httptest.ResponseRecorder {
		var b bytes.Buffer
		m := multipart.NewWriter(&b)
		for _, u := range form {
			w, err := m.CreateFormField(u.field)
			if u.file != "" || u.field == "before" || u.field == "after" {
				w, err = m.CreateFormFile(u.field, u.file)
			}
			if err != nil {
				t.Fatal(err)
			}
			if _, err := w.Write([]byte(u.text)); err != nil {
				t.Fatal(err)
			}
		}
		m.Close()
		r := httptest.NewRequest("POST", "http://127.0.0.1:8322"+DropPath, &b)
		r.Header.Set("Content-Type", m.FormDataContentType())
		for k, v := range headers {
			r.Header.Set(k, v)
		}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w
	}
}

// Files that are dropped into the page become a job, each on its side, which is run; a second one of the same car gets a folder of its own.
func TestDroppedFilesBecomeAJob(t *testing.T) {
	dir := t.TempDir()
	var answers map[string]string
	s, post := dropping(t, dir, func(_ string, a map[string]string) error { answers = a; return nil })
	form := []upload{{"before", "monday.csv", "b"}, {"name", "", " Bench mule/../x "}, {"after", "", ""}, {"after", `C:\logs\thursday.csv`, "a"}, {"mass", "", "1310 kg"}}
	for _, folder := range []string{"Bench-mule-x", "Bench-mule-x-2"} {
		w := post(nil, form...)
		if w.Code != http.StatusSeeOther || !strings.HasPrefix(w.Header().Get("Location"), "/run/") {
			t.Fatalf("%d %s", w.Code, w.Body)
		}
		for name, want := range map[string]string{"before/monday.csv": "b", "after/thursday.csv": "a", "job.toml": "before = [\"before\"]\n"} {
			if data, err := os.ReadFile(filepath.Join(dir, folder, name)); err != nil || string(data) != want {
				t.Errorf("%s/%s: %q %v", folder, name, data, err)
			}
		}
		within(t, "the run", func() {
			for strings.Contains(get(t, s, "GET", w.Header().Get("Location"), nil).Body.String(), "http-equiv=\"refresh\"") {
				time.Sleep(time.Millisecond)
			}
		})
	}
	if answers["mass"] != "1310 kg" || answers["name"] != "Bench mule/../x" {
		t.Errorf("answers %v", answers)
	}
}

// What is refused leaves nothing behind, not even hidden.
func TestWhatIsRefusedLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	var fault error
	_, post := dropping(t, dir, func(dir string, _ map[string]string) error {
		if fault == nil {
			panic("a defect")
		}
		return fault
	})
	name, log := upload{"name", "", "mule"}, upload{"before", "a.csv", "x"}
	many := []upload{name}
	for i := range mostFiles + 1 {
		many = append(many, upload{"before", strings.Repeat("a", i+1) + ".csv", "x"})
	}
	fault = errors.New("mass: 1,310 can mean two numbers")
	for want, form := range map[string][]upload{
		"no log was sent":          {name},
		"give the car or the job":  {{"name", "", "../.."}, log},
		"no log by its name":       {name, {"before", "a.exe", "x"}},
		"a.csv.html":               {name, {"before", "a.csv.html", "x"}},
		".hidden.csv":              {name, {"before", ".hidden.csv", "x"}},
		"rename one":               {name, log, log},
		"more than 100 files":      many,
		"than anybody writes":      {{"name", "", strings.Repeat("x", mostAnswer+1)}, log},
		"more than 1 MB cannot":    {name, {"before", "a.csv", strings.Repeat("x", 2<<20)}},
		"mass: 1,310 can mean two": {name, log},
	} {
		w := post(nil, form...)
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), want) {
			t.Errorf("want %q: %d %s", want, w.Code, w.Body)
		}
	}
	fault = nil
	if w := post(nil, name, log); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "defect of the program") {
		t.Errorf("a defect: %d", w.Code)
	}
	for _, from := range []map[string]string{{"Sec-Fetch-Site": "cross-site"}, {"Origin": "http://evil.example"}} {
		if w := post(from, name, log); w.Code != http.StatusForbidden {
			t.Errorf("another site may post: %d", w.Code)
		}
	}
	if w := post(map[string]string{"Content-Type": "text/plain"}, name, log); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("no form: %d", w.Code)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v %v", left, err)
	}
}

// A server that others can reach takes no files unless it was told to.
func TestNoFilesUnlessTold(t *testing.T) {
	dir := t.TempDir()
	s, post := dropping(t, dir, func(string, map[string]string) error { return nil })
	s.accepts = false
	if w := post(nil, upload{"name", "", "mule"}, upload{"before", "a.csv", "x"}); w.Code != http.StatusForbidden {
		t.Errorf("%d", w.Code)
	}
	if strings.Contains(get(t, s, "GET", "/", nil).Body.String(), `action="/new"`) {
		t.Error("the form is shown all the same")
	}
	for address, alone := range map[string]bool{"127.0.0.1": true, "::1": true, "0.0.0.0": false, "192.168.0.2": false} {
		if web.Alone(&net.TCPAddr{IP: net.ParseIP(address), Port: 1}) != alone {
			t.Errorf("%s", address)
		}
	}
}

// The cars of the results stand above the jobs, each with its history.
func TestCars(t *testing.T) {
	dir := folder(t)
	s, err := New(t.Context(), dir, analyst(), figure.Metric)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	r := sample.Job()
	r.Job.Date = "2026-03-27"
	r.Vehicle = &analysis.VehicleInfo{Name: "Bench mule"}
	data, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Join(dir, "bench/job-report"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "bench/job-report/result.json"), data, 0o644); err != nil {
		t.Fatal(err)
	}
	index := get(t, s, "GET", "/", nil).Body.String()
	if !strings.Contains(index, "<h2>Cars</h2>") || !strings.Contains(index, `href="/car/Bench%20mule"`) {
		t.Fatalf("no car in\n%s", index)
	}
	page := get(t, s, "GET", "/car/Bench%20mule", nil)
	if page.Code != 200 || !strings.Contains(page.Body.String(), "After its last job") {
		t.Errorf("%d", page.Code)
	}
	if policy := page.Header().Get("Content-Security-Policy"); !strings.Contains(policy, "default-src 'none'") || strings.Contains(policy, "script-src") {
		t.Errorf("policy %q", policy)
	}
	if w := get(t, s, "GET", "/car/nobody", nil); w.Code != http.StatusNotFound {
		t.Errorf("%d", w.Code)
	}
}
