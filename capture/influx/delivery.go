package influx

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"os"
	"time"

	"flywitness/drive"
)

// How much goes at a time: the size that the makers of the database advise, and far below what one request may have.
const (
	batchLines = 5000
	batchBytes = 1 << 20
)

// How long is waited after a failure: doubled each time.
const (
	firstPause   = time.Second
	longestPause = time.Minute
)

// delivery is one file on its way.
type delivery struct {
	*Sender
	ctx  context.Context
	path string
	file *os.File
	sum  hash.Hash

	lines  *driveLines
	record sessionRecord
	cursor *cursor
	batch  []string
	bytes  int
	sent   int   // lines of the batch that the server holds
	end    int64 // of the file, behind the last row of the batch
	report Report
	state  State

	pause   time.Duration
	told    bool // that the cursor cannot be written
	live    bool // the file is still being written
	ended   <-chan struct{}
	endedAt time.Time
}

// head begins once the header is known.
func (d *delivery) head(l *drive.Log) error {
	vehicle, err := d.vehicle(l)
	if err != nil {
		return fmt.Errorf("%s: %w", d.path, err)
	}
	if d.lines, err = newDriveLines(l, vehicle); err != nil {
		return err
	}
	d.report.Name = Name{Vehicle: vehicle, Drive: d.lines.created}.String()
	d.record = newRecord(l)
	d.cursor = openCursor(d.path, d.Server.target()+" "+vehicle, fileID(l))
	if st, err := d.file.Stat(); d.Afresh || err == nil && d.cursor.place.Bytes > st.Size() {
		if err := d.cursor.forget(); err != nil {
			return err
		}
	}
	d.state.Refused = d.cursor.place.Rejected
	line, err := d.record.line(d.lines)
	if err != nil {
		return err
	}
	return d.deliver([]string{line})
}

// vehicle names the vehicle: what the user says, what the vehicle file said, the VIN.
func (d *delivery) vehicle(l *drive.Log) (string, error) {
	for _, name := range []string{d.As, l.HeaderValue("vehicle"), l.HeaderValue("vin")} {
		if name != "" {
			return cleanVehicle(name)
		}
	}
	return "", errors.New("it names no vehicle and no VIN: give the vehicle's name with --as")
}

// row adds a row to the batch unless the server holds it already.
func (d *delivery) row(r drive.Row) error {
	line, err := d.lines.row(r)
	if r.End <= d.cursor.place.Bytes || line == "" && err == nil {
		return nil
	}
	if err != nil {
		return d.refuseRow(err.Error(), r.End)
	}
	d.batch, d.bytes, d.end = append(d.batch, line), d.bytes+len(line)+1, r.End
	if len(d.batch) >= batchLines || d.bytes >= batchBytes {
		return d.flush()
	}
	return nil
}

// refuseRow keeps a row that has no place in a database, once what stands before it is sent.
func (d *delivery) refuseRow(reason string, end int64) error {
	if err := d.flush(); err != nil {
		return err
	}
	if err := d.refuse(reason, []string{fmt.Sprintf("# the row that ends at byte %d of the file", end)}); err != nil {
		return err
	}
	d.cursor.place.Bytes = end
	d.moved()
	return nil
}

// flush sends the batch, then moves the cursor.
func (d *delivery) flush() error {
	if len(d.batch) == 0 {
		return nil
	}
	d.sent = 0
	if err := d.deliver(d.batch); err != nil {
		return err
	}
	d.report.Rows += d.sent
	d.batch, d.bytes, d.cursor.place.Bytes = d.batch[:0], 0, d.end
	d.moved()
	return nil
}

// moved writes the cursor. A folder that cannot be written to does not stop the sending.
func (d *delivery) moved() {
	d.cursor.place.Rejected = d.state.Refused
	if err := d.cursor.save(); err != nil && !d.told {
		d.told = true
		d.tell(fmt.Sprintf("how far it was sent cannot be kept beside the file (%v); next time all of it is sent again", err))
	}
}

// finish sends what is left and says of the session what is known at its end.
func (d *delivery) finish(l *drive.Log) error {
	if err := d.flush(); err != nil {
		return err
	}
	d.record.complete(l, d.lines, hex.EncodeToString(d.sum.Sum(nil)))
	line, err := d.record.line(d.lines)
	if err == nil {
		err = d.deliver([]string{line})
	}
	if err != nil {
		return err
	}
	d.moved()
	d.report.Refused = d.state.Refused
	if d.report.Refused > 0 {
		d.report.RejectedFile = d.path + rejectedSuffix
	}
	d.state.Complete = true
	d.tell("")
	return nil
}

func (d *delivery) tell(waiting string) {
	d.state.Waiting, d.state.Rows = waiting, d.report.Rows
	if d.Tell != nil {
		d.Tell(d.state)
	}
}

// deliver returns when the server holds the lines or has refused them.
func (d *delivery) deliver(lines []string) error {
	for {
		f := d.Server.writeLines(d.ctx, lines)
		if err := d.ctx.Err(); err != nil {
			return fmt.Errorf("%w: %w", ErrLeft, err)
		}
		switch {
		case f == nil:
			d.pause = firstPause
			if d.live && !d.endedAt.IsZero() {
				d.endedAt = d.Clock.Now()
			}
			d.sent += len(lines)
			d.tell("")
			return nil
		case f.Kind == TooLarge && len(lines) > 1:
			half := len(lines) / 2
			if err := d.deliver(lines[:half]); err != nil {
				return err
			}
			lines = lines[half:]
		case f.Kind == Refused || f.Kind == TooLarge:
			return d.refuse(f.Text, lines)
		case f.Kind == NotAllowed && (!d.live || d.over()):
			return f
		default:
			if err := d.wait(f); err != nil {
				return err
			}
		}
	}
}

// refuse keeps refused lines where they can be seen.
func (d *delivery) refuse(reason string, lines []string) error {
	if err := reject(d.path, reason, lines); err != nil {
		return err
	}
	d.state.Refused += len(lines)
	d.tell("")
	return nil
}
