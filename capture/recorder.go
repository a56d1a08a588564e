package capture

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"flywitness/capture/adapter"
	"flywitness/capture/clock"
	"flywitness/drive"
)

// Sink is what a recording is written to; *drive.SessionWriter and *Files are sinks.
type Sink interface {
	Index(channel string) int
	WriteRow(t float64, cells []drive.Cell) error
	WriteNote(t float64, text string) error
}

// Sample is one value as it was recorded: T in s since the recording's start, at the estimated moment of sampling.
type Sample struct {
	Channel string
	T, V    float64
	Latency time.Duration
}

// Reading is one value of a second instrument on the recorder's clock, in the unit of its channel.
type Reading struct {
	At      time.Time
	Channel string
	V       float64
}

// Instrument is a second instrument that tells the speed, and perhaps more. Take gives what it has measured since it
// was last asked, Trouble why it gives no speed, "" while all is well; neither waits.
type Instrument interface {
	Take() []Reading
	Trouble() string
}

// Config is what a recording needs. Adapter must be connected and have found its car.
type Config struct {
	Adapter *adapter.Adapter
	Clock   clock.Clock
	Sink    Sink
	Created time.Time     // from which time_s counts, on Clock
	For     time.Duration // 0: until the context ends
	Plan    func() Plan   // asked before every cycle; nil is RoadPlan
	GPS     Instrument    // may be nil
	Watch   func(Sample)  // told of every value; may be nil
	Tick    func(Status)  // told once a second; may be nil
	Notice  func(string)  // told what a person should know; may be nil
}

// Record records until the context ends or cfg.For is over; the end of the context is no error. An error is a file
// that can no longer be written; everything before is saved. The summary holds in both cases.
func Record(ctx context.Context, cfg Config) (Summary, error) {
	r := &recorder{Config: cfg, schedule: newSchedule(&cfg.Adapter.Car), stats: newStats(cfg.Created)}
	if r.Plan == nil {
		r.Plan = RoadPlan
	}
	r.announce()
	err := r.run(ctx)
	if r.gap != nil {
		err = errors.Join(err, r.endGap("the recording ended"))
	}
	return r.stats.summary(cfg.Clock.Now()), err
}

// recorder is a running recording.
type recorder struct {
	Config
	schedule *schedule
	stats    *stats
	bad      int // requests in a row that brought nothing
	gap      *gap
	ticked   time.Time
	cells    []drive.Cell
	trouble  string // with the second instrument, as it was told last
	troubled time.Time

	learnAt   time.Time     // when to ask again for what could not be learnt
	learnWait time.Duration // since it was last asked
}

// announce tells which channels the car lacks.
func (r *recorder) announce() {
	r.tellMissing()
	if r.GPS == nil && !r.schedule.has(drive.VehicleSpeed) {
		r.notice("without road speed nothing can be told of the clutch: connect a GPS receiver and give its port with --gps")
	}
}

func join(channels []string) string { return strings.Join(channels, ", ") }

func (r *recorder) notice(format string, args ...any) {
	if r.Notice != nil {
		r.Notice(fmt.Sprintf(format, args...))
	}
}

func (r *recorder) over(ctx context.Context) bool {
	return ctx.Err() != nil || r.For > 0 && r.Clock.Now().Sub(r.Created) >= r.For
}

func (r *recorder) run(ctx context.Context) error {
	for !r.over(ctx) {
		r.learnMore(ctx)
		pids := r.schedule.next(r.Plan(), r.Clock.Now())
		answer, err := r.Adapter.Query(ctx, pids...)
		if err := r.write(answer); err != nil {
			return err
		}
		if err := r.missed(pids, answer, err); err != nil {
			return err
		}
		if err != nil && ctx.Err() == nil {
			if err := r.fault(ctx, err); err != nil {
				return err
			}
		}
		if err := r.side(); err != nil {
			return err
		}
	}
	return nil
}

// write writes the row of an answer; values that no car can have are rejected.
func (r *recorder) write(a adapter.Answer) error {
	if len(a.Values) == 0 {
		return nil
	}
	t := a.Sampled.Sub(r.Created).Seconds()
	r.cells = r.cells[:0]
	for _, v := range a.Values {
		if !v.Plausible(v.V) {
			r.stats.rejected++
			continue
		}
		if i := r.Sink.Index(v.Channel); i >= 0 {
			r.cells = append(r.cells, drive.Cell{Channel: i, Value: v.V})
		}
	}
	if len(r.cells) == 0 {
		return nil
	}
	latency := float64(a.Latency.Microseconds()) / 1000
	r.cells = append(r.cells, drive.Cell{Channel: r.Sink.Index(drive.Latency), Value: latency})
	if r.gap != nil {
		if err := r.endGap(""); err != nil {
			return err
		}
	}
	if err := r.Sink.WriteRow(t, r.cells); err != nil {
		return err
	}
	r.bad = 0
	now := r.Clock.Now()
	r.stats.row(now, a.Latency)
	for _, v := range a.Values {
		if !v.Plausible(v.V) {
			continue
		}
		if err := r.got(v, now); err != nil {
			return err
		}
		if r.Watch != nil {
			r.Watch(Sample{Channel: v.Channel, T: t, V: v.V, Latency: a.Latency})
		}
	}
	return nil
}

// side writes what the second instrument measured, and tells the status once a second.
func (r *recorder) side() error {
	now := r.Clock.Now()
	if r.GPS != nil {
		if err := r.second(now); err != nil {
			return err
		}
	}
	if r.Tick != nil && now.Sub(r.ticked) >= time.Second {
		r.ticked = now
		st := r.stats.status(now, r.gap)
		if r.GPS != nil {
			st.GPS = r.trouble
			if _, ok := st.Rates[drive.GPSSpeed]; !ok {
				st.Rates[drive.GPSSpeed] = 0
			}
		}
		r.Tick(st)
	}
	return nil
}

// second writes what the second instrument measured, and tells when it has trouble and when that is over.
func (r *recorder) second(now time.Time) error {
	for _, s := range r.GPS.Take() {
		t := s.At.Sub(r.Created).Seconds()
		i := r.Sink.Index(s.Channel)
		if t < 0 || i < 0 {
			continue
		}
		if err := r.Sink.WriteRow(t, []drive.Cell{{Channel: i, Value: s.V}}); err != nil {
			return err
		}
		r.stats.value(s.Channel)
		if r.Watch != nil {
			r.Watch(Sample{Channel: s.Channel, T: t, V: s.V})
		}
	}
	trouble := r.GPS.Trouble()
	if trouble == r.trouble {
		return nil
	}
	was := r.trouble
	r.trouble = trouble
	switch {
	case trouble == "":
		return r.back(drive.GPSSpeed, r.troubled, now)
	case was == "":
		r.troubled = now
		r.stats.lose(drive.GPSSpeed, now)
	}
	r.notice("no speed from the GPS receiver: %s", trouble)
	return r.note("no speed from the GPS receiver: " + trouble)
}
