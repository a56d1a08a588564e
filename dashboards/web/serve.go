package web

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"strings"
	"time"
)

// Limits of a server; zero values take the defaults.
type Limits struct {
	Clients int              // requests at a time; default 32
	Body    int64            // bytes of a posted form; default 64 KiB
	Large   map[string]int64 // bytes of a form that is posted to one of these paths, in place of Body
	Answer  time.Duration    // for writing an answer; default a minute; streams lift it for themselves
}

// Handler wraps a page server that listens on addr. Host names other than the address itself, localhost and the names in
// also are refused: a page of another site whose name was pointed here must not read along.
func Handler(h http.Handler, addr net.Addr, l Limits, also ...string) http.Handler {
	if l.Clients == 0 {
		l.Clients = 32
	}
	if l.Body == 0 {
		l.Body = 64 << 10
	}
	known, everywhere := hosts(addr, also)
	slots := make(chan struct{}, l.Clients)
	inner := http.NewCrossOriginProtection().Handler(h)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		head := w.Header()
		head.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'")
		head.Set("X-Content-Type-Options", "nosniff")
		head.Set("Referrer-Policy", "no-referrer")
		head.Set("Cross-Origin-Opener-Policy", "same-origin")
		head.Set("Cross-Origin-Resource-Policy", "same-origin")
		head.Set("Cache-Control", "no-store")
		if host := strings.ToLower(name(r.Host)); !known[host] && !(everywhere && net.ParseIP(host) != nil) {
			http.Error(w, "This server answers only to the address that it was started with.", http.StatusMisdirectedRequest)
			return
		}
		select {
		case slots <- struct{}{}:
			defer func() { <-slots }()
		default:
			head.Set("Retry-After", "2")
			http.Error(w, "Too many at a time; try again in a moment.", http.StatusServiceUnavailable)
			return
		}
		most := l.Body
		if n, ok := l.Large[r.URL.Path]; ok {
			most = n
		}
		r.Body = http.MaxBytesReader(w, r.Body, most)
		inner.ServeHTTP(w, r)
	})
}

// hosts lists the names that a client may call the server by. A server that listens everywhere also answers to any bare
// number: only a name can be pointed at a foreign address.
func hosts(addr net.Addr, also []string) (known map[string]bool, everywhere bool) {
	known = map[string]bool{}
	host, _, err := net.SplitHostPort(addr.String())
	if err == nil {
		known[strings.ToLower(host)] = true
	}
	ip := net.ParseIP(host)
	if ip == nil || ip.IsLoopback() || ip.IsUnspecified() {
		known["localhost"], known["127.0.0.1"], known["::1"] = true, true, true
	}
	for _, a := range also {
		known[strings.ToLower(a)] = true
	}
	return known, ip != nil && ip.IsUnspecified()
}

// name returns the host without its port.
func name(hostport string) string {
	if host, _, err := net.SplitHostPort(hostport); err == nil {
		return host
	}
	return strings.Trim(hostport, "[]")
}

// Listen opens the address. Without a host it is the loopback; any other than a loopback must be asked for by its name.
func Listen(addr string) (net.Listener, error) {
	host, port, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, fmt.Errorf("%q is not an address like 127.0.0.1:8321", addr)
	}
	if host == "" {
		host = "127.0.0.1"
	}
	l, err := net.Listen("tcp", net.JoinHostPort(host, port))
	if err != nil {
		return nil, fmt.Errorf("cannot listen on %s: %w; name another port", addr, err)
	}
	return l, nil
}

// Alone tells whether an address can be reached from this machine only.
func Alone(addr net.Addr) bool {
	host, _, err := net.SplitHostPort(addr.String())
	ip := net.ParseIP(host)
	return err == nil && ip != nil && ip.IsLoopback()
}

// Serve serves until ctx ends, then gives answers under way a moment to finish.
func Serve(ctx context.Context, l net.Listener, h http.Handler, limits Limits) error {
	if limits.Answer == 0 {
		limits.Answer = time.Minute
	}
	s := &http.Server{Handler: h, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 20 * time.Second, WriteTimeout: limits.Answer,
		IdleTimeout: 30 * time.Second, MaxHeaderBytes: 16 << 10}
	done := make(chan error, 1)
	go func() { done <- s.Serve(l) }()
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
	}
	late, cancel := context.WithTimeout(context.Background(), 2*time.Second)
	defer cancel()
	if s.Shutdown(late) != nil {
		s.Close()
	}
	if err := <-done; !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}
