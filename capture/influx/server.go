// Package influx takes recordings and findings to an InfluxDB and brings them back. The schema is in docs/database.md.
//
// It speaks the interface that versions 1.8 and 2 share: line protocol to /api/v2/write, Flux to /api/v2/query. A
// session file stays the original and the queue: it is sent from where a cursor beside it stands, and the cursor
// moves only after the server has said that it holds the rows.
package influx

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	influxdb2 "github.com/influxdata/influxdb-client-go/v2"
	"github.com/influxdata/influxdb-client-go/v2/api"
)

// Options say which database is meant.
type Options struct {
	URL    string // http or https, without credentials
	Bucket string // with version 1: database/retention policy, or the database alone
	Org    string // with version 1: empty
	Token  string // with version 1: user:password
	CAFile string // certificates (PEM) that are trusted beside the system's

	Patience time.Duration // how long the server may be silent over a write; 0: 30 s
}

// queryPatience is how much longer a query may take than a write: the server looks at everything before it says its
// first word.
const queryPatience = 4

// usualPatience is far above what a server in its right mind needs for a batch, and short enough to notice a dead link.
const usualPatience = 30 * time.Second

// Server is a database that is spoken to. Making one opens no connection.
type Server struct {
	opt   Options
	http  [2]*http.Client // for writing, for asking
	write api.WriteAPIBlocking
	query api.QueryAPI
}

// New checks the options and prepares the client.
func New(opt Options) (*Server, error) {
	u, err := checkURL(opt.URL)
	if err != nil {
		return nil, err
	}
	if opt.Bucket == "" {
		return nil, fmt.Errorf("no bucket is named: with InfluxDB 1.8 it is database/retention, such as workshop/autogen")
	}
	if strings.ContainsAny(opt.Token, "\r\n") {
		return nil, fmt.Errorf("the token holds a line break: it is one line")
	}
	if opt.Patience == 0 {
		opt.Patience = usualPatience
	}
	opt.URL = u
	s := &Server{opt: opt}
	var clients [2]influxdb2.Client
	for i, patience := range []time.Duration{opt.Patience, queryPatience * opt.Patience} {
		if s.http[i], err = newHTTP(opt, patience); err != nil {
			return nil, err
		}
		clients[i] = influxdb2.NewClientWithOptions(u, opt.Token,
			influxdb2.DefaultOptions().SetHTTPClient(s.http[i]).SetUseGZip(true).SetPrecision(time.Nanosecond))
	}
	s.write, s.query = clients[0].WriteAPIBlocking(opt.Org, opt.Bucket), clients[1].QueryAPI(opt.Org)
	return s, nil
}

// Close ends the connections.
func (s *Server) Close() {
	for _, c := range s.http {
		c.CloseIdleConnections()
	}
}

// target names the database that a cursor belongs to.
func (s *Server) target() string {
	return strings.Join([]string{s.opt.URL, s.opt.Org, s.opt.Bucket}, " ")
}

// checkURL returns the address without a closing slash. It never repeats a password.
func checkURL(text string) (string, error) {
	u, err := url.Parse(text)
	switch {
	case text == "":
		return "", fmt.Errorf("no database is named: give its address, such as https://db.example:8086")
	case err != nil:
		return "", fmt.Errorf("the address of the database cannot be read: give it as https://db.example:8086")
	case u.User != nil:
		return "", fmt.Errorf("the address of the database holds a user or password: " +
			"give them in a file of their own (--token-file)")
	case u.Scheme != "http" && u.Scheme != "https" || u.Host == "":
		return "", fmt.Errorf("%q is no address of a database: give it as https://db.example:8086", text)
	case u.RawQuery != "" || u.Fragment != "":
		return "", fmt.Errorf("the address of the database ends after its path: leave out what follows ? or #")
	}
	return strings.TrimRight(u.String(), "/"), nil
}
