package web

import (
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

func loopback(t *testing.T) net.Addr {
	t.Helper()
	a, err := net.ResolveTCPAddr("tcp", "127.0.0.1:8321")
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestForeignNamesAndSitesAreRefused(t *testing.T) {
	h := Handler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { io.WriteString(w, "inside") }), loopback(t), Limits{})
	for _, c := range []struct {
		method, host, site, origin string
		status                     int
	}{
		{"GET", "127.0.0.1:8321", "", "", 200},
		{"GET", "localhost:8321", "none", "", 200},
		{"GET", "[::1]:8321", "", "", 200},
		{"GET", "LOCALHOST", "", "", 200},
		{"GET", "evil.example:8321", "", "", 421},
		{"GET", "127.0.0.1.evil.example", "", "", 421},
		{"GET", "", "", "", 421},
		{"POST", "127.0.0.1:8321", "same-origin", "", 200},
		{"POST", "127.0.0.1:8321", "cross-site", "", 403},
		{"POST", "127.0.0.1:8321", "", "http://evil.example", 403},
	} {
		r := httptest.NewRequest(c.method, "/", nil)
		r.Host = c.host
		if c.site != "" {
			r.Header.Set("Sec-Fetch-Site", c.site)
		}
		if c.origin != "" {
			r.Header.Set("Origin", c.origin)
		}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != c.status {
			t.Errorf("%+v: status %d", c, w.Code)
		}
		if !strings.HasPrefix(w.Header().Get("Content-Security-Policy"), "default-src 'none'") || w.Header().Get("Set-Cookie") != "" {
			t.Errorf("%+v: headers %v", c, w.Header())
		}
	}
}

func TestListeningEverywhereAnswersToNumbersOnly(t *testing.T) {
	everywhere, err := net.ResolveTCPAddr("tcp", "0.0.0.0:8321")
	if err != nil {
		t.Fatal(err)
	}
	h := Handler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {}), everywhere, Limits{}, "bench-laptop")
	for host, status := range map[string]int{"192.0.2.7:8321": 200, "[2001:db8::1]:8321": 200, "bench-laptop:8321": 200, "localhost": 200, "evil.example:8321": 421} {
		r := httptest.NewRequest("GET", "/", nil)
		r.Host = host
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != status {
			t.Errorf("%s: status %d", host, w.Code)
		}
	}
}

func TestTooManyClientsAndTooLargeBodies(t *testing.T) {
	enter, leave := make(chan struct{}), make(chan struct{})
	h := Handler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/wait" {
			enter <- struct{}{}
			<-leave
			return
		}
		if _, err := io.ReadAll(r.Body); err != nil {
			w.WriteHeader(http.StatusRequestEntityTooLarge)
		}
	}), loopback(t), Limits{Clients: 1, Body: 10})
	get := func(path, body string) int {
		r := httptest.NewRequest("POST", path, strings.NewReader(body))
		r.Host = "localhost"
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w.Code
	}
	go get("/wait", "")
	<-enter
	if got := get("/", ""); got != 503 {
		t.Errorf("a second client gets %d", got)
	}
	close(leave)
	for get("/", "") == 503 { // the first one is on its way out
	}
	if got := get("/", strings.Repeat("x", 11)); got != 413 {
		t.Errorf("a body too large gets %d", got)
	}
}

func TestListenDefaultsToTheLoopback(t *testing.T) {
	l, err := Listen(":0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	if host, _, _ := net.SplitHostPort(l.Addr().String()); host != "127.0.0.1" {
		t.Errorf("listens on %s", host)
	}
	if _, err := Listen("nonsense"); err == nil || !strings.Contains(err.Error(), "127.0.0.1:8321") {
		t.Errorf("nonsense: %v", err)
	}
}
