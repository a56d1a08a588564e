package influx

import (
	"cmp"
	"context"
	"encoding/json"
	"maps"
	"slices"
	"strings"
	"time"

	"github.com/influxdata/influxdb-client-go/v2/api/query"
	protocol "github.com/influxdata/line-protocol"
)

// Estimate is a quantity with its standard deviation and 95 % interval.
type Estimate struct {
	Value float64 `json:"value"`
	SD    float64 `json:"sd"`
	Low   float64 `json:"lo"`
	High  float64 `json:"hi"`
}

// Finding is what one side of a job found, by the names of the result's JSON. A nil number or estimate is one that
// cannot be had.
type Finding struct {
	Vehicle   string               `json:"-"`
	Job       string               `json:"-"`
	Side      string               `json:"-"`
	Time      time.Time            `json:"-"`
	Texts     map[string]string    `json:"texts"`
	Flags     map[string]bool      `json:"flags"`
	Numbers   map[string]*float64  `json:"numbers"`
	Estimates map[string]*Estimate `json:"estimates"`
}

// Tags and fields of a finding. Each quantity stands in fields of its own, for whoever looks at the database by other
// means. The database keeps a field that a later result has no value for, so each number says by a field of its own
// whether it still stands.
const (
	jobTag     = "job"
	sideTag    = "side"
	givenEnd   = "_given"
	wholeField = "json" // all of the finding
)

var estimateEnds = [...]string{"_value", "_sd", "_lo", "_hi"}

// line returns the finding as one point.
func (f Finding) line() (string, error) {
	vehicle, err := cleanVehicle(f.Vehicle)
	if err != nil {
		return "", err
	}
	if _, err := inReach(f.Time); err != nil {
		return "", err
	}
	job := strings.TrimRight(f.Job, `\`)
	if job, err = cleanVehicle(job); err != nil {
		job = "job"
	}
	p := point{name: findingMeasurement, at: f.Time,
		tags: []*protocol.Tag{{Key: jobTag, Value: job}, {Key: sideTag, Value: f.Side}, {Key: vehicleTag, Value: vehicle}}}
	whole, err := json.Marshal(f)
	if err != nil {
		return "", err
	}
	p.add(wholeField, string(whole))
	for _, k := range slices.Sorted(maps.Keys(f.Texts)) {
		p.add(k, f.Texts[k])
	}
	for _, k := range slices.Sorted(maps.Keys(f.Flags)) {
		p.add(k, f.Flags[k])
	}
	for _, k := range slices.Sorted(maps.Keys(f.Numbers)) {
		p.add(k+givenEnd, f.Numbers[k] != nil)
		if v := f.Numbers[k]; v != nil {
			p.add(k, *v)
		}
	}
	for _, k := range slices.Sorted(maps.Keys(f.Estimates)) {
		e := f.Estimates[k]
		p.add(k+givenEnd, e != nil)
		if e == nil {
			continue
		}
		for i, v := range []float64{e.Value, e.SD, e.Low, e.High} {
			p.add(k+estimateEnds[i], v)
		}
	}
	return p.line()
}

// WriteFindings writes findings. It returns when the server holds them; the same findings again change nothing.
func (s *Server) WriteFindings(ctx context.Context, findings []Finding) error {
	var lines []string
	for _, f := range findings {
		line, err := f.line()
		if err != nil {
			return err
		}
		lines = append(lines, line)
	}
	for batch := range slices.Chunk(lines, batchLines) {
		if f := s.writeLines(ctx, batch); f != nil {
			return f
		}
	}
	return nil
}

// Findings reads all findings from a time on, in the order of time. It reads the one field that holds all of a
// finding: every further field of every job would cost the server as much again.
func (s *Server) Findings(ctx context.Context, from time.Time) ([]Finding, error) {
	if from.IsZero() {
		from = everFrom
	}
	var out []Finding
	sel := selection{measurement: findingMeasurement, from: from, to: everTo, tags: [][2]string{{"_field", wholeField}},
		keep: []string{"_time", "_value", vehicleTag, jobTag, sideTag}}
	err := s.ask(ctx, s.flux(sel)+" |> group()", func(r *query.FluxRecord) error {
		f := Finding{Time: r.Time().UTC()}
		text, _ := r.Value().(string)
		if err := unmarshal(wholeField, text, &f); err != nil {
			return err
		}
		f.Vehicle, _ = r.ValueByKey(vehicleTag).(string)
		f.Job, _ = r.ValueByKey(jobTag).(string)
		f.Side, _ = r.ValueByKey(sideTag).(string)
		out = append(out, f)
		return nil
	})
	slices.SortFunc(out, func(a, b Finding) int {
		return cmp.Or(a.Time.Compare(b.Time), cmp.Compare(a.Vehicle, b.Vehicle), cmp.Compare(a.Job, b.Job),
			cmp.Compare(b.Side, a.Side))
	})
	return out, err
}
