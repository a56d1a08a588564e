package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sync"
	"time"

	"flywitness/analysis/plan"
	"flywitness/analysis/practice"
	"flywitness/capture"
	"flywitness/capture/adapter"
	"flywitness/capture/clock"
	"flywitness/capture/gps"
	"flywitness/cmd/internal/cli"
	"flywitness/cmd/internal/database"
	"flywitness/cmd/logger/guide"
	"flywitness/cmd/logger/live"
	"flywitness/drive"
	"flywitness/figure"
	"flywitness/vehicle"

	"github.com/spf13/cobra"
)

// recordFlags are the flags of record.
type recordFlags struct {
	port, gps, vehicle, out string
	baud, gpsBaud           int
	length                  time.Duration
	guide, alarm, asJSON    bool
	units                   figure.Units
	limitKmh                float64
	serve                   string
	db                      database.Flags
	as                      string
	hosts, earlier          []string
}

// surroundings are the world that a recording runs in; tests have one of their own, in which waiting costs no time.
type surroundings struct {
	clock clock.Clock
	open  func(port string, baud int) (adapter.Port, error)
	grace time.Duration // how long a silent database is tried after the recording
}

// outside is the real world. Nobody should stand and wait for a database that is silent: what it did not take is left for push.
func outside() surroundings {
	return surroundings{clock: clock.System{}, open: adapter.OpenPort, grace: 5 * time.Second}
}

func newRecord(in surroundings) *cobra.Command {
	var f recordFlags
	cmd := &cobra.Command{
		Use:   "record",
		Short: "Records a drive into a session file",
		Long: `record connects to the car through the adapter at --port and records until Ctrl-C or for --for. It goes on by itself
after a loose plug, a stall or the ignition being off; such gaps are marked. A file that exists is never overwritten.

A passenger operates it. The driver drives and never looks at the screen.

With --influx the rows also go to a database while they are recorded; the file stays the original, the recording never
waits, and what could not be sent is left for fw-logger push.

With --guide it asks for the runs that the analysis needs, one at a time, and says at once whether each can be used. With
--serve it shows a page for the passenger: speeds, gear, clutch, a curve, the step, the last runs. With --serve 0.0.0.0:8321 the
address for a phone is printed, as a square to be scanned too; everyone in that network can then look, and change nothing.`,
		Example: `  $ fw-logger record --port /dev/ttyUSB0 --vehicle mule.toml --out thursday.csv
  $ fw-logger record --port /dev/ttyUSB0 --vehicle mule.toml --guide --speed-limit-kmh 100 --out before.csv
  $ fw-logger record --port /dev/ttyUSB0 --vehicle mule.toml --guide --earlier before.csv --out after.csv
  $ fw-logger record --port /dev/ttyUSB0 --vehicle mule.toml --out thursday.csv --influx https://db.example:8086 --bucket workshop/autogen --token-file token.txt
  $ fw-logger record --port tcp://192.168.0.10:35000 --serve 0.0.0.0:8321 --out friday.csv`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := f.check(); err != nil {
				return err
			}
			r := recording{flags: &f, surroundings: in, stdin: cmd.InOrStdin(), stdout: cmd.OutOrStdout(), stderr: cmd.ErrOrStderr()}
			return r.run(cmd.Context())
		},
	}
	fl := cmd.Flags()
	fl.StringVar(&f.port, "port", "", "serial `PORT` of the adapter (see fw-logger ports), or tcp://host:port of one on a network")
	fl.IntVar(&f.baud, "baud", 0, "baud rate of the adapter; 0 tries the usual ones")
	fl.StringVar(&f.gps, "gps", "", "serial `PORT` or tcp://host:port of a GPS receiver; its speed and altitude are recorded, positions never")
	fl.IntVar(&f.gpsBaud, "gps-baud", 9600, "baud rate of the GPS receiver")
	fl.StringVar(&f.vehicle, "vehicle", "", "vehicle `FILE`")
	fl.StringVar(&f.out, "out", "", "session `FILE` to write")
	fl.DurationVar(&f.length, "for", 0, "how long to record, for instance 10m; 0 is until Ctrl-C")
	fl.BoolVar(&f.guide, "guide", false, "ask for the runs that the analysis needs")
	fl.Float64Var(&f.limitKmh, "speed-limit-kmh", 0, "with --guide: offer only pulls within this limit; 0 is none")
	fl.StringArrayVar(&f.earlier, "earlier", nil, "with --guide: a session `FILE` of this car from before, so that the engine is held at the same speeds again (repeats)")
	fl.Var(&f.units, "units", "units of what is said and shown; the session file is always metric")
	fl.BoolVar(&f.alarm, "alarm", false, "sound the bell and say so when the clutch slips under load; only with a passenger")
	fl.StringVar(&f.serve, "serve", "", "show a live page for the passenger at this `ADDRESS`: 127.0.0.1:8321 is this machine alone, 0.0.0.0:8321 a phone in the same network too")
	fl.StringArrayVar(&f.hosts, "host", nil, "with --serve: another `NAME` that browsers may call this machine by (repeats)")
	fl.BoolVar(&f.asJSON, "json", false, "print the summary as JSON")
	f.db.Add(cmd)
	fl.StringVar(&f.as, "as", "", "with --influx: the vehicle's name in the database, where there is no vehicle file")
	return cmd
}

// check refuses what cannot be meant, before anything is opened.
func (f *recordFlags) check() error {
	switch {
	case f.port == "":
		return cli.Usagef("--port is missing: the serial port of the adapter, see `fw-logger ports`")
	case f.out == "":
		return cli.Usagef("--out is missing: the session file to write")
	case f.length < 0:
		return cli.Usagef("--for is a length of time, not %v", f.length)
	case f.limitKmh < 0 || f.limitKmh > 0 && !f.guide:
		return cli.Usagef("--speed-limit-kmh is a speed that goes with --guide")
	case len(f.earlier) > 0 && !f.guide:
		return cli.Usagef("--earlier is a recording that goes with --guide")
	case f.gps == f.port:
		return cli.Usagef("--gps and --port are the same port")
	case len(f.hosts) > 0 && f.serve == "":
		return cli.Usagef("--host is a name that goes with --serve")
	}
	for _, name := range []string{f.port, f.gps} {
		if err := adapter.CheckName(name); err != nil {
			return cli.Usagef("%v", err)
		}
	}
	if err := f.db.Check(); err != nil {
		return err
	}
	if _, err := f.db.Server(); f.db.Given() && err != nil { // better told now than after the drive
		return err
	}
	if _, err := os.Stat(f.out); err == nil {
		return &cli.InputError{Err: fmt.Errorf("%s exists and a recording is never overwritten", f.out), Hint: "give another --out"}
	}
	if info, err := os.Stat(filepath.Dir(f.out)); err != nil || !info.IsDir() {
		return &cli.InputError{Err: fmt.Errorf("there is no folder %s for the recording", filepath.Dir(f.out)), Hint: "make it, or give another --out"}
	}
	return nil
}

// recording is one run of record.
type recording struct {
	surroundings
	flags          *recordFlags
	stdin          io.Reader
	stdout, stderr io.Writer
	vehicle        *vehicle.Vehicle
	answers        guide.Answers
	held           [2]float64 // rpm, at which the engine was held before; zeros: not known
	line           *statusLine
	sent           *sending // nil without a database
}

func (r *recording) run(ctx context.Context) error {
	r.line = newStatusLine(r.stderr)
	for _, c := range practice.Cautions(practice.Recording, practice.Driving) {
		fmt.Fprint(r.stderr, cli.Wrap(c, cli.LineWidth(r.stderr), ""))
	}
	if r.flags.vehicle != "" {
		v, warnings, err := vehicle.Load(r.flags.vehicle)
		if err != nil {
			return err
		}
		for _, w := range warnings {
			r.say(w)
		}
		r.vehicle = v
	}
	if err := r.readEarlier(ctx); err != nil {
		return err
	}
	page, err := newPage(r.flags.serve, r.flags.hosts, r.flags.out, r.flags.units, r.say) // better told now than after the drive
	if err != nil {
		return err
	}
	defer page.close()
	if r.flags.gps != "" {
		port, err := r.open(r.flags.gps, r.flags.gpsBaud)
		if err != nil {
			return err
		}
		port.Close()
	}
	a := adapter.New(func(baud int) (adapter.Port, error) { return r.open(r.flags.port, baud) }, r.clock,
		adapter.Options{Baud: r.flags.baud, Network: adapter.IsNetwork(r.flags.port), Progress: r.say})
	defer a.Close()
	info, err := r.meet(ctx, a)
	if ctx.Err() != nil {
		return errors.New("stopped before the recording began; nothing was written")
	}
	if err != nil {
		return err
	}
	if r.flags.guide {
		if r.answers, err = guide.Ask(r.stdin, r.stderr); err != nil {
			return err
		}
	}
	created := r.clock.Now()
	files, err := capture.CreateFiles(r.flags.out, r.header(created, a, info), capture.Columns(r.flags.gps != "", r.plans()...), capture.SyncEverySecond, r.say)
	if err != nil {
		return err
	}
	// A recording ends with Ctrl-C, its sending a little later.
	sent, err := startSending(context.WithoutCancel(ctx), &r.flags.db, r.flags.as, r.flags.out, r.grace, r.say)
	if err != nil {
		return err
	}
	r.sent = sent
	page.invite(r.stderr)
	sum, err := r.record(ctx, a, files, created, page)
	if cerr := files.Close(); err == nil {
		err = cerr
	}
	err = errors.Join(err, r.report(sum, files.Names()))
	return errors.Join(err, sent.finish(context.WithoutCancel(ctx), files.Names()[1:], r.say))
}

// plans are what the recording may poll by.
func (r *recording) plans() []capture.Plan {
	if r.flags.guide {
		return capture.Plans()
	}
	return []capture.Plan{capture.RoadPlan()}
}

// meet connects to adapter and car and asks the car what it is.
func (r *recording) meet(ctx context.Context, a *adapter.Adapter) (adapter.Info, error) {
	if err := a.Meet(ctx, r.say); err != nil {
		return adapter.Info{}, r.explain(err)
	}
	info, err := a.Info(ctx)
	if err != nil {
		return info, r.explain(err)
	}
	r.say("car: " + a.Car.Protocol + described(info))
	return info, nil
}

// explain puts the port before an error of the adapter.
func (r *recording) explain(err error) error {
	var f *adapter.Failure
	if errors.As(err, &f) && f.Err != nil {
		return &cli.InputError{Err: fmt.Errorf("%s: %w", r.flags.port, f.Err), Hint: f.What}
	}
	return err
}

func described(info adapter.Info) string {
	s := ""
	if info.VIN != "" {
		s += ", VIN " + info.VIN
	}
	if info.Lamp != nil && (info.Lamp.On || info.Lamp.Codes > 0) {
		s += fmt.Sprintf("; fault lamp %s, %d codes stored: what the car does may not be what it usually does",
			map[bool]string{true: "on", false: "off"}[info.Lamp.On], info.Lamp.Codes)
	}
	return s
}

func (r *recording) header(created time.Time, a *adapter.Adapter, info adapter.Info) []drive.Field {
	name := ""
	if r.vehicle != nil {
		name = r.vehicle.Name
	}
	return capture.Header(created, "logger "+cli.Version, name, a, info, r.answers.Fields())
}

// record runs the recording with everything beside it.
func (r *recording) record(ctx context.Context, a *adapter.Adapter, sink capture.Sink, created time.Time, page *page) (capture.Summary, error) {
	ctx, end := r.limited(ctx)
	b := newLiveSession(r.vehicle, r.answers, page.alarm(r.alarm()))
	r.line.extra = b.line
	if r.sent != nil {
		r.line.sent = r.sent.line
	}
	cfg := capture.Config{
		Adapter: a, Clock: r.clock, Sink: sink, Created: created, For: r.flags.length, Notice: r.say,
		Watch: func(s capture.Sample) { b.sample(s); page.sample(b, s) },
		Tick:  func(s capture.Status) { r.line.tick(s); b.tick(s); page.tick(b, s) },
	}
	r.say("recording into " + r.flags.out + "; Ctrl-C ends it")
	if r.flags.guide {
		b.startGuide(r.answers, plan.Road{SpeedLimit: r.flags.limitKmh / 3.6, Holds: r.held}, r.flags.units, r.stdin, page.hear(r.say))
		cfg.Plan = b.guide.Plan
	}
	var others sync.WaitGroup
	others.Go(func() { b.work(ctx, end) })
	others.Go(func() { page.serve(ctx) })
	if r.flags.gps != "" {
		receiver := gps.New(func() (adapter.Port, error) { return r.open(r.flags.gps, r.flags.gpsBaud) }, r.clock)
		others.Go(func() { receiver.Run(ctx) })
		cfg.GPS = receiver
	}
	sum, err := capture.Record(ctx, cfg)
	end()
	others.Wait()
	r.line.End()
	return sum, err
}

// limited ends the context after --for: a search for the car that is running then would otherwise hold up the end.
func (r *recording) limited(ctx context.Context) (context.Context, context.CancelFunc) {
	if r.flags.length > 0 {
		return context.WithTimeout(ctx, r.flags.length)
	}
	return context.WithCancel(ctx)
}

// alarm returns what is done when the clutch slips under load, nil when nothing is.
func (r *recording) alarm() func(live.State) {
	if !r.flags.alarm {
		return nil
	}
	return func(s live.State) { r.line.Say("\aSLIP under load: " + s.String() + ". Lift.") }
}

// say tells the person at the machine something, apart from the status line.
func (r *recording) say(text string) { r.line.Say(cli.OneLine(text)) }
