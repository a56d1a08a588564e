package influx

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"time"

	"flywitness/drive"
	"flywitness/finding"

	"github.com/influxdata/influxdb-client-go/v2/api/query"
)

// Open reads the drives that a name means, each as a log of its own in the order of time. A drive that lies in the
// range as a whole is the same log as its session file gives, with the file's SHA-256; only the path is the drive's
// name in the database. Of a drive that the range cuts, or that was not sent to its end, the SHA-256 is that of the
// values that were read.
func (s *Server) Open(ctx context.Context, n Name) ([]*drive.Log, error) {
	found, err := s.drives(ctx, n)
	if err != nil {
		return nil, err
	}
	var logs []*drive.Log
	for _, d := range found {
		l, err := s.readDrive(ctx, n, d)
		if err != nil {
			return nil, err
		}
		if l.Rows > 0 || d.Complete && l.Path == (Name{Vehicle: n.Vehicle, Drive: d.created}).String() {
			logs = append(logs, l)
		}
	}
	if len(logs) == 0 {
		return nil, s.nothing(ctx, n)
	}
	return logs, nil
}

func (s *Server) readDrive(ctx context.Context, n Name, d *recorded) (*drive.Log, error) {
	rows, err := s.values(ctx, n.Vehicle, d)
	if err != nil {
		return nil, err
	}
	l := drive.SessionLog(Name{Vehicle: n.Vehicle, Drive: d.created}.String(), d.Header)
	if l.Created.IsZero() {
		l.Created = d.created
	}
	l.Channels = rows.channels(d.Columns)
	if l.Notes, err = s.notes(ctx, n.Vehicle, d); err != nil {
		return nil, err
	}
	whole := d.Complete && rows.values >= d.Values
	if l.SHA256 = d.SHA256; d.Complete {
		l.Rows, l.Skipped, l.Torn = d.Rows, d.Skipped, d.Torn
		for _, w := range d.Warnings {
			l.Warnings = append(l.Warnings, finding.Told(w.Code, l.Path+w.String()))
		}
	}
	if !whole {
		incomplete(l, d, rows.values)
	}
	if cut := n.cut(l); !whole || cut {
		l.SHA256 = valuesSHA256(l)
	}
	return l, nil
}

func incomplete(l *drive.Log, d *recorded, values int) {
	f := finding.New(finding.DriveIncomplete, finding.Name("drive", l.Path), finding.Name("file", d.File))
	if d.Complete {
		f.Values = append(f.Values, finding.Count("values", values), finding.Count("of", d.Values))
	} else {
		l.Rows = rowsOf(l)
	}
	l.Warnings = append(l.Warnings, f)
}

// cut leaves what lies in the range and tells whether that is less than all.
func (n Name) cut(l *drive.Log) bool {
	low, high := math.Inf(-1), math.Inf(1)
	if !n.From.IsZero() {
		low = n.From.Sub(l.Created).Seconds()
	}
	if !n.To.IsZero() {
		high = n.To.Sub(l.Created).Seconds()
	}
	if first, last := l.Span(); low <= first && last < high {
		return false
	}
	for _, c := range l.Channels {
		k := 0
		for i, t := range c.T {
			if t >= low && t < high {
				c.T[k], c.V[k] = t, c.V[i]
				k++
			}
		}
		c.T, c.V = c.T[:k], c.V[:k]
	}
	l.Rows, l.Skipped, l.Torn, l.Warnings = rowsOf(l), 0, 0, nil
	path := l.Path
	l.Path = Name{Vehicle: n.Vehicle, From: n.From, To: n.To}.String()
	l.Warnings = append(l.Warnings, finding.New(finding.DriveCut, finding.Name("drive", l.Path), finding.Name("whole", path)))
	return true
}

// rowsOf counts the moments at which something was measured.
func rowsOf(l *drive.Log) int {
	seen := map[float64]bool{}
	for _, c := range l.Channels {
		for _, t := range c.T {
			seen[t] = true
		}
	}
	return len(seen)
}

// valuesSHA256 is the checksum of a log's values, where no file stands behind them.
func valuesSHA256(l *drive.Log) string {
	h := sha256.New()
	fmt.Fprintln(h, tagOfDrive(l.Created))
	for _, c := range l.Channels {
		fmt.Fprintln(h, c.Name)
		for i := range c.T {
			_, _ = io.WriteString(h, fmt.Sprintf("%g %g\n", c.T[i], c.V[i]))
		}
	}
	return hex.EncodeToString(h.Sum(nil))
}

// between is the time within which a drive's points lie.
func (d *recorded) between() (from, to time.Time) {
	if !d.Complete {
		return everFrom, everTo
	}
	return d.at(d.First).Add(-time.Second), d.at(d.Last).Add(time.Second)
}

// selection is what a measurement holds of a drive.
func (d *recorded) selection(measurement, vehicle string, from, to time.Time) selection {
	return selection{measurement: measurement, from: from, to: to, keep: []string{"_time", "_field", "_value"},
		tags: [][2]string{{vehicleTag, vehicle}, {driveTag, d.tag}}}
}

// values reads all values of a drive.
func (s *Server) values(ctx context.Context, vehicle string, d *recorded) (*driveRows, error) {
	from, to := d.between()
	rows := &driveRows{fields: map[string]*samples{}, orders: map[int64]order{}}
	err := s.ask(ctx, s.flux(d.selection(driveMeasurement, vehicle, from, to)), func(r *query.FluxRecord) error {
		nano := r.Time().Sub(d.created).Nanoseconds()
		switch v := r.Value().(type) {
		case float64:
			rows.add(r.Field(), nano, v)
		case string:
			return rows.order(nano, v)
		}
		return nil
	})
	return rows, err
}

// notes reads what the recorder noted, in the order of the file.
func (s *Server) notes(ctx context.Context, vehicle string, d *recorded) ([]drive.Note, error) {
	if d.Complete && d.Notes == 0 {
		return nil, nil
	}
	found := map[int64]*drive.Note{}
	err := s.ask(ctx, s.flux(d.selection(noteMeasurement, vehicle, everFrom, everTo)), func(r *query.FluxRecord) error {
		at := r.Time().UnixNano()
		if found[at] == nil {
			found[at] = &drive.Note{}
		}
		switch v := r.Value().(type) {
		case float64:
			found[at].T = v
		case string:
			if err := json.Unmarshal([]byte(v), &found[at].Text); err != nil {
				found[at].Text = v
			}
		}
		return nil
	})
	var notes []drive.Note
	for _, at := range sortedKeys(found) {
		notes = append(notes, *found[at])
	}
	return notes, err
}
