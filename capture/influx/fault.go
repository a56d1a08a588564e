package influx

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"os"
	"strings"
	"time"

	influxhttp "github.com/influxdata/influxdb-client-go/v2/api/http"
)

// Kind says what can be done about a fault.
type Kind int

// The kinds of fault.
const (
	Again      Kind = iota // no network, a server that is full, busy or ill: the same again, later
	NotAllowed             // a wrong token, bucket, right or address: somebody must put it right
	TooLarge               // half of it at a time
	Refused                // the server will never take these rows
)

// Fault is what came back instead of success. Its text names the server and never holds the token.
type Fault struct {
	Kind  Kind
	Text  string
	After time.Duration // how long the server asks to be left alone, 0 when it does not say
	err   error
}

func (f *Fault) Error() string { return f.Text }

// Unwrap returns the cause.
func (f *Fault) Unwrap() error { return f.err }

// longestAfter bounds what a server may ask for.
const longestAfter = time.Hour

// fault reads an error of the client library.
func (s *Server) fault(err error) *Fault {
	f := &Fault{Kind: Again, err: err}
	var h *influxhttp.Error
	if !errors.As(err, &h) || h.StatusCode == 0 {
		f.Text = s.clean(networkText(err))
		if errors.Is(err, errRedirect) {
			f.Kind = NotAllowed
		}
		return f
	}
	f.After = min(time.Duration(min(h.RetryAfter, 1<<20))*time.Second, longestAfter)
	f.Kind = kindOf(h)
	message := strings.TrimSpace(h.Message)
	if message == "" {
		message = http.StatusText(h.StatusCode)
	}
	switch {
	case f.Kind == NotAllowed && h.StatusCode == http.StatusUnauthorized:
		f.Text = s.clean(message) + ": look at the token"
	case f.Kind == NotAllowed && h.StatusCode == http.StatusForbidden || strings.Contains(message, "requires READ"):
		f.Text = s.clean(message) + ": the token has no right to that"
	case f.Kind == NotAllowed:
		f.Text = s.clean(fmt.Sprintf("%s (bucket %s): look at bucket and organisation", message, s.opt.Bucket))
	default:
		f.Text = s.clean(fmt.Sprintf("%s (status %d)", message, h.StatusCode))
	}
	return f
}

// kindOf sorts by status. Version 1.8 answers a query with 500 where a database is missing or a right is.
func kindOf(h *influxhttp.Error) Kind {
	switch h.StatusCode {
	case http.StatusBadRequest, http.StatusUnprocessableEntity:
		return Refused
	case http.StatusRequestEntityTooLarge:
		return TooLarge
	case http.StatusTooManyRequests, http.StatusRequestTimeout:
		return Again
	}
	if h.StatusCode < 500 {
		return NotAllowed
	}
	for _, said := range []string{"no database", "requires READ", "could not find bucket"} {
		if strings.Contains(h.Message, said) {
			return NotAllowed
		}
	}
	return Again
}

// networkText says in few words why nothing came.
func networkText(err error) string {
	var u *url.Error
	if errors.As(err, &u) {
		err = u.Err
	}
	var dns *net.DNSError
	var op *net.OpError
	var timeout interface{ Timeout() bool }
	switch {
	case errors.As(err, &dns):
		return fmt.Sprintf("the name %s is not known to the network", dns.Name)
	case errors.Is(err, context.DeadlineExceeded), errors.Is(err, os.ErrDeadlineExceeded),
		errors.As(err, &timeout) && timeout.Timeout():
		return "no answer in time"
	case errors.As(err, &op):
		return op.Err.Error()
	}
	return err.Error()
}

// shortSecret is the length from which a password is looked for in a text: a shorter one is part of ordinary words.
const shortSecret = 5

// clean puts the server before a text and takes the token out of it, whoever put it there.
func (s *Server) clean(text string) string {
	if s.opt.Token != "" {
		text = strings.ReplaceAll(text, s.opt.Token, "(token)")
		if _, password, ok := strings.Cut(s.opt.Token, ":"); ok && len(password) >= shortSecret {
			text = strings.ReplaceAll(text, password, "(password)")
		}
	}
	return s.opt.URL + ": " + text
}
