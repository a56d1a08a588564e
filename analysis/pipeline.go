package analysis

import (
	"slices"
	"sync"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/clocks"
	"flywitness/analysis/compare"
	"flywitness/analysis/drag"
	"flywitness/analysis/gearing"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/inertia"
	"flywitness/analysis/slip"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/vehicle"
)

// Set is the logs of one car in one state: everything before the work, everything after it, or simply all there is.
type Set struct {
	Side     string // before | after | "" where there is only one set
	Logs     []*drive.Log
	Sessions []int            // session of each log, from 0; nil: each log is a session of its own
	Vehicle  *vehicle.Vehicle // nil when no vehicle file was given

	// TextOnly tells that the result is printed as text, which lists no channels and no codes: Input.DurationS,
	// Input.Channels and Result.Findings stay empty.
	TextOnly bool

	// LetGo is called where Slip needs no more of much that it was given or worked out, and as much memory for what
	// comes next; nil: nobody wants to know.
	LetGo func()
}

func (s *Set) letGo() {
	if s.LetGo != nil {
		s.LetGo()
	}
}

// inOrder is the set with its logs in the order in which they were recorded, and its sessions numbered in that
// order; as it is where a log does not say when. Each log is on one clock.
func (s Set) inOrder() Set {
	s.Logs = clocks.Align(s.Logs)
	if slices.ContainsFunc(s.Logs, func(l *drive.Log) bool { return l.Created.IsZero() }) {
		return s
	}
	order := make([]int, len(s.Logs))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return s.Logs[a].Created.Compare(s.Logs[b].Created) })
	out := s
	out.Logs = make([]*drive.Log, len(order))
	var sessions []int
	number := map[int]int{}
	for i, from := range order {
		out.Logs[i] = s.Logs[from]
		if s.Sessions == nil {
			continue
		}
		if _, seen := number[s.Sessions[from]]; !seen {
			number[s.Sessions[from]] = len(number)
		}
		sessions = append(sessions, number[s.Sessions[from]])
	}
	out.Sessions = sessions
	return out
}

// findings is what the pipeline found in one set so far.
type findings struct {
	set         Set
	calibration *calibrate.Calibration
	vehicle     *vehicle.Vehicle // with the gearing that stands; nil without a vehicle file
	gearing     *gearing.Told
	worth       *vehicle.Vehicle    // the same where there is a file, else gearing alone
	signals     []gearstate.Signals // one for each log, from learning to decoding
	tracks      []*gearstate.Track  // one for each log
	slip        *slip.Finding
	inertia     *inertia.Finding
	warnings    []finding.Finding
}

// learn tells how the signals of a set belong together and which gearing stands.
func learn(s Set) *findings {
	f := &findings{set: s}
	f.learn(s.Logs)
	return f
}

func (f *findings) learn(logs []*drive.Log) {
	s := &f.set
	f.calibration, f.signals, f.warnings = calibrate.LearnAndRead(logs, s.Vehicle, s.letGo)
	f.worth, f.gearing = gearing.Settle(s.Vehicle, f.calibration)
	if s.Vehicle != nil {
		f.vehicle = f.worth
	}
	if f.gearing != nil && s.Vehicle != nil {
		f.warnings = append(f.warnings, f.gearing.Sentence...)
	}
}

// decode tells which gear and clutch state each log is in, and where the logs disagree on the scale of road speed.
func (f *findings) decode() {
	logs := f.set.Logs
	f.tracks = make([]*gearstate.Track, len(logs))
	var wg sync.WaitGroup
	for i, s := range f.signals {
		wg.Go(func() { f.tracks[i] = f.calibration.DecodeSignals(s) })
	}
	wg.Wait()
	f.signals = nil
	f.warnings = append(f.warnings, calibrate.Disagreement(logs, f.tracks)...)
}

// only returns the logs with the channels named alone.
func (s *Set) only(channels ...string) []*drive.Log {
	logs := make([]*drive.Log, len(s.Logs))
	for i, l := range s.Logs {
		logs[i] = l.Only(channels...)
	}
	return logs
}

func (f *findings) judgeSlip(tracks []*gearstate.Track, opt slip.Options) {
	var w []finding.Finding
	f.slip, w = slip.Judge(f.set.Logs, tracks, f.vehicle, f.calibration, opt)
	f.warnings = append(f.warnings, w...)
}

func (f *findings) measureInertia(opt inertia.Options) {
	var w []finding.Finding
	opt.Session = f.set.Sessions
	f.inertia, w = inertia.Measure(f.set.Logs, f.vehicle, f.calibration, opt)
	f.warnings = append(f.warnings, w...)
}

// side is the set as the comparison wants it.
func (f *findings) side(footOnClutch *bool) compare.Side {
	return compare.Side{Logs: f.set.Logs, Tracks: f.tracks, Vehicle: f.worth, Inertia: f.inertia, Slip: f.slip,
		Sessions: f.set.Sessions, FootOnClutch: footOnClutch}
}

// Learn tells the gearing, the lag and the rounding that a set of logs holds.
func Learn(s Set) *Result {
	s = s.inOrder()
	r := newResult("learn", s)
	cal, warnings := calibrate.Learn(s.only(calibrate.Channels(s.Vehicle)...), s.Vehicle)
	r.Calibration = cal
	r.warn("", warnings)
	return r
}

// Slip judges whether the clutch slips under load.
func Slip(s Set, opt slip.Options) *Result {
	s = s.inOrder()
	var r *Result
	var beside sync.WaitGroup
	read := s
	beside.Go(func() { r = newResult("slip", read) })
	// A day has more numbers than the rest of its way needs at once: what was read is let go, and so are the tracks.
	logs := s.only(append(calibrate.Channels(s.Vehicle), slip.Channels...)...)
	s.Logs = s.only(slip.Channels...)
	f := &findings{set: s}
	f.learn(logs)
	f.decode()
	tracks := f.tracks
	f.tracks = nil
	s.letGo()
	opt.TakeTracks = true
	f.judgeSlip(tracks, opt)
	beside.Wait()
	r.Calibration, r.Gearing, r.Slip = f.calibration, f.gearing, f.slip
	r.warn("", f.warnings)
	if !s.TextOnly {
		r.collect()
	}
	return r
}

// Inertia measures the effective rotating inertia of one set of logs.
func Inertia(s Set, opt inertia.Options) *Result {
	s = s.inOrder()
	r := newResult("inertia", s)
	f := learn(s)
	if len(s.Logs) > 1 { // runs need no gear, but logs of one set are asked whether they agree
		f.decode()
	}
	f.signals = nil
	f.measureInertia(opt)
	r.Calibration, r.Gearing, r.Inertia = f.calibration, f.gearing, f.inertia
	r.warn("", f.warnings)
	if !s.TextOnly {
		r.collect()
	}
	return r
}

// CompareOptions is what is known of a comparison beside its logs.
type CompareOptions struct {
	Slip    [2]slip.Options    // before, after
	Inertia [2]inertia.Options // before, after
	Compare compare.Options
	Ladder  Set // of the car while its drag changes; no logs where none was driven
}

// Compare sets a before set against an after set. Either may have no logs: what one side alone can tell is told.
func Compare(before, after Set, opt CompareOptions) *Result {
	before, after = before.inOrder(), after.inOrder()
	r := newResult("compare", before, after)
	r.compare(before, after, opt)
	r.collect()
	return r
}

// withoutNewClutch is the vehicle of the before side. Where both sides have one vehicle file, its clutch is the
// one that is in the car now, so it says nothing of the one before.
func withoutNewClutch(before, after Set) *vehicle.Vehicle {
	if before.Vehicle == nil || before.Vehicle != after.Vehicle || len(after.Logs) == 0 {
		return before.Vehicle
	}
	old := *before.Vehicle
	old.Clutch = nil
	return &old
}

func (r *Result) compare(before, after Set, opt CompareOptions) {
	before.Vehicle = withoutNewClutch(before, after)
	var sides [2]*findings
	var wg sync.WaitGroup
	for i, s := range []Set{before, after} {
		if len(s.Logs) == 0 {
			continue
		}
		wg.Go(func() {
			f := learn(s)
			f.decode()
			f.judgeSlip(f.tracks, opt.Slip[i])
			f.measureInertia(opt.Inertia[i])
			sides[i] = f
		})
	}
	wg.Wait()
	var args [2]compare.Side
	for i, f := range sides {
		if f == nil {
			continue
		}
		args[i] = f.side(opt.Inertia[i].FootOnClutch)
		r.warn(f.set.Side, f.warnings)
	}
	if f := sides[0]; f != nil {
		r.CalibrationBefore = f.calibration
		r.Calibration, r.Gearing = f.calibration, f.gearing
	}
	if f := sides[1]; f != nil {
		r.Calibration, r.Gearing = f.calibration, f.gearing
	}
	if len(opt.Ladder.Logs) > 0 {
		opt.Compare.Ladder = opt.Ladder.climb(opt.Inertia[0])
	}
	var w []finding.Finding
	r.Compare, w = compare.Compare(args[0], args[1], opt.Compare)
	r.warn("", w)
}

// climb measures a ladder; nil where the engine was not held in it.
func (s Set) climb(opt inertia.Options) *drag.Ladder {
	opt.Session = s.Sessions
	runs, _ := inertia.Measure(s.Logs, s.Vehicle, nil, opt)
	return drag.Climb(s.Logs, runs, s.Vehicle != nil && s.Vehicle.Engine.Fuel == "diesel")
}
