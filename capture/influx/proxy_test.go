package influx

import (
	"bytes"
	"context"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"
)

// faultProxy stands before a server and does to the n-th write what its script says; then it hands everything on.
type faultProxy struct {
	*httptest.Server
	to string

	mu     sync.Mutex
	script []fault
	asked  []fault // what is done to queries
	writes int
	bytes  int64 // of the bodies of all writes
}

// fault does to one write what a bad network or a sick server does.
type fault func(p *faultProxy, w http.ResponseWriter, r *http.Request, body []byte)

func newProxy(t *testing.T, to string, script ...fault) *faultProxy {
	p := &faultProxy{to: to, script: script}
	p.Server = httptest.NewServer(p)
	t.Cleanup(func() { p.CloseClientConnections(); p.Close() })
	return p
}

func (p *faultProxy) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if r.Body != nil && strings.HasSuffix(r.URL.Path, "/write") {
		p.mu.Lock()
		p.writes++
		var f fault
		if len(p.script) > 0 {
			f, p.script = p.script[0], p.script[1:]
		}
		p.mu.Unlock()
		if f != nil {
			f(p, w, r, nil)
			return
		}
	}
	if strings.HasSuffix(r.URL.Path, "/query") {
		p.mu.Lock()
		var f fault
		if len(p.asked) > 0 {
			f, p.asked = p.asked[0], p.asked[1:]
		}
		p.mu.Unlock()
		if f != nil {
			f(p, w, r, nil)
			return
		}
	}
	body, err := io.ReadAll(r.Body)
	if err != nil {
		return
	}
	p.hand(w, r, body)
}

// hand hands a request on and its answer back, and tells the status.
func (p *faultProxy) hand(w http.ResponseWriter, r *http.Request, body []byte) int {
	p.mu.Lock()
	p.bytes += int64(len(body))
	p.mu.Unlock()
	req, err := http.NewRequestWithContext(context.Background(), r.Method, p.to+r.URL.RequestURI(), bytes.NewReader(body))
	if err != nil {
		http.Error(w, err.Error(), http.StatusBadGateway)
		return 0
	}
	req.Header = r.Header.Clone()
	resp, err := http.DefaultTransport.RoundTrip(req)
	if err != nil {
		http.Error(w, err.Error(), http.StatusBadGateway)
		return 0
	}
	defer resp.Body.Close()
	if w == nil {
		return resp.StatusCode
	}
	for k, v := range resp.Header {
		w.Header()[k] = v
	}
	w.WriteHeader(resp.StatusCode)
	_, _ = io.Copy(w, resp.Body)
	return resp.StatusCode
}

// cut resets the connection of a request.
func cut(w http.ResponseWriter) {
	c, _, err := w.(http.Hijacker).Hijack()
	if err != nil {
		return
	}
	if tcp, ok := c.(*net.TCPConn); ok {
		_ = tcp.SetLinger(0)
	}
	c.Close()
}

// hang takes the request and never answers.
func hang(_ *faultProxy, _ http.ResponseWriter, r *http.Request, _ []byte) {
	_, _ = io.Copy(io.Discard, r.Body)
	<-r.Context().Done()
}

// resetMidBody reads a part of the body and resets.
func resetMidBody(_ *faultProxy, w http.ResponseWriter, r *http.Request, _ []byte) {
	_, _ = io.ReadFull(r.Body, make([]byte, 64))
	cut(w)
}

// lostAnswer hands the request on and loses the answer: the server holds the rows, the sender does not know.
func lostAnswer(p *faultProxy, w http.ResponseWriter, r *http.Request, _ []byte) {
	body, err := io.ReadAll(r.Body)
	if err == nil {
		p.hand(nil, r, body)
	}
	cut(w)
}

// half answers success and breaks off within the answer's header.
func half(p *faultProxy, w http.ResponseWriter, r *http.Request, _ []byte) {
	body, err := io.ReadAll(r.Body)
	if err != nil {
		return
	}
	p.hand(nil, r, body)
	if c, _, err := w.(http.Hijacker).Hijack(); err == nil {
		_, _ = io.WriteString(c, "HTTP/1.1 204 No Con")
		c.Close()
	}
}

// broken hands a request on and breaks off in the middle of the answer.
func broken(p *faultProxy, w http.ResponseWriter, r *http.Request, _ []byte) {
	body, err := io.ReadAll(r.Body)
	if err != nil {
		return
	}
	whole := httptest.NewRecorder()
	p.hand(whole, r, body)
	for k, v := range whole.Header() {
		w.Header()[k] = v
	}
	_, _ = w.Write(whole.Body.Bytes()[:whole.Body.Len()/2])
	w.(http.Flusher).Flush()
	cut(w)
}

// status answers with a status and what a server would say.
func status(code int, header, value, body string) fault {
	return func(_ *faultProxy, w http.ResponseWriter, r *http.Request, _ []byte) {
		_, _ = io.Copy(io.Discard, r.Body)
		if header != "" {
			w.Header().Set(header, value)
		}
		w.WriteHeader(code)
		_, _ = io.WriteString(w, body)
	}
}

// slow hands the request on, and lets it wait for its answer.
func slow(p *faultProxy, w http.ResponseWriter, r *http.Request, _ []byte) {
	body, err := io.ReadAll(r.Body)
	if err != nil {
		return
	}
	time.Sleep(2 * impatient)
	p.hand(w, r, body)
}
