package influx

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"strings"
	"time"
)

// dialTime is how long a connection may take to come about.
const dialTime = 10 * time.Second

// newHTTP returns a client that waits for no answer longer than patience, follows no redirect (it would carry the
// token elsewhere, and turn a write into a read) and trusts the system's certificates and those of opt.CAFile.
func newHTTP(opt Options, patience time.Duration) (*http.Client, error) {
	conf := &tls.Config{MinVersion: tls.VersionTLS12}
	if opt.CAFile != "" {
		pem, err := os.ReadFile(opt.CAFile)
		if err != nil {
			return nil, fmt.Errorf("cannot read the certificates: %w", err)
		}
		if conf.RootCAs, err = x509.SystemCertPool(); err != nil {
			conf.RootCAs = x509.NewCertPool()
		}
		if !conf.RootCAs.AppendCertsFromPEM(pem) {
			return nil, fmt.Errorf("%s holds no certificate (PEM, -----BEGIN CERTIFICATE-----)", opt.CAFile)
		}
	}
	dialer := &net.Dialer{Timeout: min(dialTime, patience)}
	transport := &http.Transport{
		Proxy:                 http.ProxyFromEnvironment,
		TLSClientConfig:       conf,
		TLSHandshakeTimeout:   dialTime,
		ResponseHeaderTimeout: patience,
		MaxIdleConnsPerHost:   2,
		DialContext: func(ctx context.Context, network, address string) (net.Conn, error) {
			c, err := dialer.DialContext(ctx, network, address)
			if err != nil {
				return nil, err
			}
			return &patientConn{Conn: c, patience: patience}, nil
		},
	}
	return &http.Client{Transport: answers{transport}}, nil
}

var errRedirect = errors.New("the address answers with a redirect: give the address that it leads to")

// patientConn is a connection on which nothing may stand still for longer than patience, however large the whole is.
type patientConn struct {
	net.Conn
	patience time.Duration
}

func (c *patientConn) Read(b []byte) (int, error) {
	if err := c.SetReadDeadline(time.Now().Add(c.patience)); err != nil {
		return 0, err
	}
	return c.Conn.Read(b)
}

func (c *patientConn) Write(b []byte) (int, error) {
	if err := c.SetWriteDeadline(time.Now().Add(c.patience)); err != nil {
		return 0, err
	}
	return c.Conn.Write(b)
}

// answers follows no redirect, and refuses what only looks like success: the sign-in page of a guest network says 200
// to everything, a database says 204 to a write and comma-separated values to a query.
type answers struct{ http.RoundTripper }

func (a answers) RoundTrip(r *http.Request) (*http.Response, error) {
	resp, err := a.RoundTripper.RoundTrip(r)
	if err == nil && resp.StatusCode >= 300 && resp.StatusCode <= 399 {
		resp.Body.Close()
		return nil, errRedirect
	}
	if err != nil || resp.StatusCode < 200 || resp.StatusCode > 299 {
		return resp, err
	}
	right := resp.StatusCode == http.StatusNoContent
	if strings.HasSuffix(r.URL.Path, "/query") {
		right = strings.HasPrefix(resp.Header.Get("Content-Type"), "text/csv")
	}
	if !right {
		resp.Body.Close()
		return nil, fmt.Errorf("what answers there is not an InfluxDB (status %d, %s); is this a network with a sign-in page?",
			resp.StatusCode, resp.Header.Get("Content-Type"))
	}
	return resp, nil
}
