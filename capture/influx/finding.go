package influx

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	protocol "github.com/influxdata/line-protocol"

	"github.com/influxdata/influxdb-client-go/v2/api/query"
)

// Estimate is a quantity with its standard deviation and 95 % interval.
type Estimate struct{ Value, SD, Low, High float64 }

// Finding is what one side of a job found, by the names of the result's JSON. A nil number or estimate is one that cannot be had.
type Finding struct {
	Vehicle, Job, Side string
	Time               time.Time
	Texts              map[string]string
	Flags              map[string]bool
	Numbers            map[string]*float64
	Estimates          map[string]*Estimate
}

// Tags and field endings of a finding. The database keeps a field that a later result has no value for, so each number says by a field of its
// own whether it still stands.
const (
	jobTag   = "job"
	sideTag  = "side"
	givenEnd = "_given"
)

var estimateEnds = [...]string{"_value", "_sd", "_lo", "_hi"}

// line returns the finding as one point.
func (f Finding) line() (string, error) {
	vehicle, err := CleanVehicle(f.Vehicle)
	if err != nil {
		return "", err
	}
	if _, err := inReach(f.Time); err != nil {
		return "", err
	}
	job := strings.TrimRight(f.Job, `\`)
	if job, err = CleanVehicle(job); err != nil {
		job = "job"
	}
	p := point{name: findingMeasurement, at: f.Time, tags: []*protocol.Tag{{Key: jobTag, Value: job}, {Key: sideTag, Value: f.Side}, {Key: vehicleTag, Value: vehicle}}}
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

// Findings reads all findings from a time on, in the order of time.
func (s *Server) Findings(ctx context.Context, from time.Time) ([]Finding, error) {
	if from.IsZero() {
		from = everFrom
	}
	type key struct {
		vehicle, job, side string
		nano               int64
	}
	found := map[key]map[string]any{}
	flux := s.flux(selection{measurement: findingMeasurement, from: from, to: everTo, keep: []string{"_time", "_field", "_value", vehicleTag, jobTag, sideTag}}) +
		fmt.Sprintf(" |> group(columns: [%s])", quote("_field"))
	err := s.ask(ctx, flux, func(r *query.FluxRecord) error {
		vehicle, _ := r.ValueByKey(vehicleTag).(string)
		job, _ := r.ValueByKey(jobTag).(string)
		side, _ := r.ValueByKey(sideTag).(string)
		k := key{vehicle, job, side, r.Time().UnixNano()}
		if found[k] == nil {
			found[k] = map[string]any{}
		}
		found[k][r.Field()] = r.Value()
		return nil
	})
	if err != nil {
		return nil, err
	}
	out := make([]Finding, 0, len(found))
	for k, fields := range found {
		out = append(out, readFinding(Finding{Vehicle: k.vehicle, Job: k.job, Side: k.side, Time: time.Unix(0, k.nano).UTC()}, fields))
	}
	slices.SortFunc(out, func(a, b Finding) int {
		if c := a.Time.Compare(b.Time); c != 0 {
			return c
		}
		return strings.Compare(a.Vehicle+"\n"+a.Job+"\n"+b.Side, b.Vehicle+"\n"+b.Job+"\n"+a.Side)
	})
	return out, nil
}

// readFinding sorts the fields of a point into what they are. Numbers that no longer stand are left out.
func readFinding(f Finding, fields map[string]any) Finding {
	f.Texts, f.Flags, f.Numbers, f.Estimates = map[string]string{}, map[string]bool{}, map[string]*float64{}, map[string]*Estimate{}
	for k, v := range fields {
		switch v := v.(type) {
		case string:
			f.Texts[k] = v
		case bool:
			if name, ok := strings.CutSuffix(k, givenEnd); !ok {
				f.Flags[k] = v
			} else if v {
				f.number(name, fields)
			}
		}
	}
	return f
}

func (f *Finding) number(name string, fields map[string]any) {
	if v, ok := fields[name].(float64); ok {
		f.Numbers[name] = &v
		return
	}
	var e Estimate
	for i, to := range []*float64{&e.Value, &e.SD, &e.Low, &e.High} {
		v, ok := fields[name+estimateEnds[i]].(float64)
		if !ok {
			return
		}
		*to = v
	}
	f.Estimates[name] = &e
}
