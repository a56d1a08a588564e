package influx

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"time"

	"flywitness/vehicle/tomlfile"

	"github.com/influxdata/influxdb-client-go/v2/api/query"
)

// recorded is a drive that the database knows.
type recorded struct {
	tag     string
	created time.Time
	sessionRecord
}

// drives lists the drives of a vehicle that a name means, in the order of time.
func (s *Server) drives(ctx context.Context, n Name) ([]*recorded, error) {
	sel := selection{measurement: sessionMeasurement, from: everFrom, to: everTo,
		tags: [][2]string{{vehicleTag, n.Vehicle}}, keep: []string{"_time", "_field", "_value", driveTag}}
	if !n.Drive.IsZero() {
		sel.from, sel.to = n.Drive, n.Drive.Add(time.Nanosecond)
		sel.tags = append(sel.tags, [2]string{driveTag, tagOfDrive(n.Drive)})
	}
	found := map[string]*recorded{}
	err := s.ask(ctx, s.flux(sel), func(r *query.FluxRecord) error {
		tag, _ := r.ValueByKey(driveTag).(string)
		if found[tag] == nil {
			found[tag] = &recorded{tag: tag, created: r.Time()}
		}
		return found[tag].read(r.Field(), r.Value())
	})
	if err != nil {
		return nil, err
	}
	var all []*recorded
	for _, d := range found {
		if n.covers(d) {
			all = append(all, d)
		}
	}
	slices.SortFunc(all, func(a, b *recorded) int { return a.created.Compare(b.created) })
	if len(all) == 0 {
		return nil, s.nothing(ctx, n)
	}
	return all, nil
}

// covers tells whether a drive reaches into the range. One that is not complete may still.
func (n Name) covers(d *recorded) bool {
	if !n.To.IsZero() && !d.at(d.First).Before(n.To) {
		return false
	}
	return n.From.IsZero() || !d.Complete || !d.at(d.Last).Before(n.From)
}

func (d *recorded) at(seconds float64) time.Time {
	return d.created.Add(time.Duration(seconds * 1e9))
}

// nothing says why no drive was found: what the database holds instead.
func (s *Server) nothing(ctx context.Context, n Name) error {
	begun, err := s.begun(ctx, n.Vehicle)
	if err != nil {
		return err
	}
	if len(begun) == 0 {
		return s.unknownVehicle(ctx, n.Vehicle)
	}
	first, last := begun[0], begun[len(begun)-1]
	what := fmt.Sprintf("%d drives of it are there, begun from %s to %s", len(begun), tagOfDrive(first), tagOfDrive(last))
	if len(begun) == 1 {
		what = "one drive of it is there, begun at " + tagOfDrive(first)
	}
	if !n.Drive.IsZero() && len(begun) > 1 {
		nearest := slices.MinFunc(begun, func(a, b time.Time) int {
			return cmp.Compare(a.Sub(n.Drive).Abs(), b.Sub(n.Drive).Abs())
		})
		what += "; the nearest at " + tagOfDrive(nearest)
	}
	return fmt.Errorf("%s: bucket %s holds no such drive of this vehicle; %s", n, s.opt.Bucket, what)
}

// begun lists when the drives of a vehicle began.
func (s *Server) begun(ctx context.Context, vehicle string) (all []time.Time, err error) {
	sel := selection{measurement: sessionMeasurement, from: everFrom, to: everTo,
		tags: [][2]string{{vehicleTag, vehicle}, {"_field", "file"}}, keep: []string{"_time"}}
	err = s.ask(ctx, s.flux(sel), func(r *query.FluxRecord) error {
		all = append(all, r.Time())
		return nil
	})
	slices.SortFunc(all, time.Time.Compare)
	return all, err
}

func (s *Server) unknownVehicle(ctx context.Context, name string) error {
	known, err := s.distinct(ctx, sessionMeasurement, "file", vehicleTag)
	if err != nil {
		return err
	}
	if len(known) == 0 {
		return fmt.Errorf("bucket %s at %s holds no drive at all: send some with fw-logger push", s.opt.Bucket, s.opt.URL)
	}
	return fmt.Errorf("bucket %s at %s knows no vehicle %q; the nearest of %d is %q",
		s.opt.Bucket, s.opt.URL, name, len(known), tomlfile.Nearest(name, known))
}

// distinct lists the values of a tag in rising order, seen through a field that every point of the measurement has.
// The values stay to the last step: version 1.8 brings nothing when only tags are kept.
func (s *Server) distinct(ctx context.Context, measurement, field, tag string) (all []string, err error) {
	flux := s.flux(selection{measurement: measurement, from: everFrom, to: everTo,
		tags: [][2]string{{"_field", field}}, keep: []string{tag, "_value"}})
	flux += fmt.Sprintf(" |> group() |> distinct(column: %s)", quote(tag))
	err = s.ask(ctx, flux, func(r *query.FluxRecord) error {
		if v, ok := r.Value().(string); ok {
			all = append(all, v)
		}
		return nil
	})
	slices.Sort(all)
	return all, err
}
