package influx

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/influxdata/influxdb-client-go/v2/api/query"
)

// quote writes a text as a Flux string. All but plain letters, digits and a few marks are written as bytes, so
// nothing in a name can end the string, begin an expression in it or reach the query. (Version 1.8 knows no query
// parameters, version 2 only in the hosted offer.)
func quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for i := 0; i < len(s); i++ {
		c := s[i]
		if c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || strings.IndexByte(" _-:./", c) >= 0 {
			b.WriteByte(c)
		} else {
			fmt.Fprintf(&b, `\x%02x`, c)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// The reach of nanoseconds in 64 bits, with room. A range must say its end: the usual one is now, by the clock of the
// server.
var (
	everFrom = time.Date(1678, 1, 1, 0, 0, 0, 0, time.UTC)
	everTo   = time.Date(2262, 1, 1, 0, 0, 0, 0, time.UTC)
)

// selection is the part of the bucket that a query reads: a measurement between two times, with tags that must be
// equal.
type selection struct {
	measurement string
	from, to    time.Time
	tags        [][2]string
	keep        []string // columns that come back
}

func (s *Server) flux(sel selection) string {
	var b strings.Builder
	fmt.Fprintf(&b, "from(bucket: %s) |> range(start: time(v: %s), stop: time(v: %s))",
		quote(s.opt.Bucket), quote(tagOfDrive(sel.from)), quote(tagOfDrive(sel.to)))
	fmt.Fprintf(&b, " |> filter(fn: (r) => r._measurement == %s", quote(sel.measurement))
	for _, t := range sel.tags {
		fmt.Fprintf(&b, " and r.%s == %s", t[0], quote(t[1]))
	}
	b.WriteString(")")
	if len(sel.keep) > 0 {
		columns := make([]string, len(sel.keep))
		for i, k := range sel.keep {
			columns[i] = quote(k)
		}
		fmt.Fprintf(&b, " |> keep(columns: [%s])", strings.Join(columns, ", "))
	}
	return b.String()
}

// ask runs a query and hands out its records one by one.
func (s *Server) ask(ctx context.Context, flux string, each func(*query.FluxRecord) error) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	r, err := s.query.Query(ctx, flux)
	if err != nil {
		return s.fault(err)
	}
	defer r.Close()
	for r.Next() {
		if err := each(r.Record()); err != nil {
			return err
		}
	}
	if err := r.Err(); err != nil {
		return s.fault(err)
	}
	return nil
}
