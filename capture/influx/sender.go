package influx

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"os"
	"time"

	"flywitness/capture/clock"
	"flywitness/drive"
)

// State is how a sender stands.
type State struct {
	Rows     int    // sent and held by the server
	Refused  int    // rows that the server will not take
	Waiting  string // why nothing goes, "" while it goes
	Complete bool   // all of the file is there
}

// Report is what sending a file came to.
type Report struct {
	Path, Name   string // the file, and the name of the drive in the database
	Rows         int    // sent this time
	Refused      int    // ever
	RejectedFile string // where the refused ones are, "" without any
}

// Sender sends session files. The zero value of everything but Server and Clock is usable.
type Sender struct {
	Server *Server
	Clock  clock.Clock
	As     string        // the vehicle's name; "": what the file says, else its VIN
	Afresh bool          // send everything again, wherever the cursor stands
	Tell   func(State)   // told of every change; must not wait
	Grace  time.Duration // Follow: how long a silent server is tried after the recording ended
}

// Send sends what the server does not hold yet of a finished file. While the server cannot be reached it tries again
// until ctx ends. An error is a file that cannot be sent, or a server that will not have it until somebody changes
// something.
func (s *Sender) Send(ctx context.Context, path string) (Report, error) {
	return s.run(ctx, path, nil)
}

// Follow sends a file while it is written, until ended is closed and everything is sent. What cannot be sent Grace
// after the end is left for Send.
func (s *Sender) Follow(ctx context.Context, path string, ended <-chan struct{}) (Report, error) {
	return s.run(ctx, path, ended)
}

// ErrLeft is a file of which rows are still to be sent.
var ErrLeft = errors.New("not everything is sent")

func (s *Sender) run(ctx context.Context, path string, ended <-chan struct{}) (Report, error) {
	f, err := os.Open(path)
	if err != nil {
		return Report{Path: path}, fmt.Errorf("cannot read the session file: %w", err)
	}
	defer f.Close()
	if st, err := f.Stat(); err == nil && st.IsDir() {
		return Report{Path: path}, fmt.Errorf("%s is a folder: name the session files in it", path)
	}
	start := make([]byte, 4096)
	n, err := f.ReadAt(start, 0)
	if err != nil && err != io.EOF {
		return Report{Path: path}, fmt.Errorf("%s: %w", path, err)
	}
	if !drive.IsSession(start[:n]) {
		return Report{Path: path}, fmt.Errorf("%s is no session file: make one of it with logger import", path)
	}
	d := &delivery{Sender: s, ctx: ctx, path: path, file: f, sum: sha256.New(), pause: firstPause, report: Report{Path: path}}
	if ended != nil {
		d.live, d.ended = true, ended
	}
	l, err := drive.ScanSession(d, path, d.head, d.row)
	if err == nil {
		err = d.finish(l)
	}
	return d.report, err
}

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
			return CleanVehicle(name)
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

// wait waits after a failure, longer each time. During a recording also what somebody must put right is tried again.
func (d *delivery) wait(f *Fault) error {
	if d.over() && d.Clock.Now().Sub(d.endedAt) >= d.Grace {
		return fmt.Errorf("%w: %w", ErrLeft, f)
	}
	pause := max(d.pause, f.After)
	d.pause = min(2*d.pause, longestPause)
	if d.over() {
		pause = min(pause, d.Grace)
	}
	d.tell(f.Text)
	ctx, stop := d.untilEnd()
	err := d.Clock.Sleep(ctx, pause)
	stop()
	if d.ctx.Err() != nil {
		return fmt.Errorf("%w: %w", ErrLeft, err)
	}
	return nil
}

// over tells whether the recording has ended, and notes when it did.
func (d *delivery) over() bool {
	if !d.live {
		return false
	}
	select {
	case <-d.ended:
		if d.endedAt.IsZero() {
			d.endedAt = d.Clock.Now()
		}
		return true
	default:
		return false
	}
}

// untilEnd is a context that also ends with the recording, if that is still to come.
func (d *delivery) untilEnd() (context.Context, context.CancelFunc) {
	if !d.live || d.over() {
		return d.ctx, func() {}
	}
	ctx, cancel := context.WithCancel(d.ctx)
	stop := make(chan struct{})
	go func() {
		select {
		case <-d.ended:
			cancel()
		case <-stop:
		}
	}()
	return ctx, func() { close(stop); cancel() }
}

// lookEvery is how often a file that is being written is looked at.
const lookEvery = time.Second

// Read reads the file. At the end of one that is still being written it sends what there is and waits for more.
func (d *delivery) Read(b []byte) (int, error) {
	for {
		over := !d.live || d.over()
		n, err := d.file.Read(b)
		if n > 0 {
			d.sum.Write(b[:n])
			return n, nil
		}
		if err != nil && err != io.EOF || over {
			return 0, err
		}
		if d.lines != nil {
			if err := d.flush(); err != nil {
				return 0, err
			}
		}
		ctx, stop := d.untilEnd()
		_ = d.Clock.Sleep(ctx, lookEvery) // its end is seen by over and ctx
		stop()
		if err := d.ctx.Err(); err != nil {
			return 0, fmt.Errorf("%w: %w", ErrLeft, err)
		}
	}
}
