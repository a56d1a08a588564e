package live

import (
	"fmt"
	"math"
	"sync"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/detect"
	"flywitness/analysis/gearstate"
	"flywitness/capture"
	"flywitness/drive"
)

// State is what is seen of gear and clutch at the last road speed sample.
type State struct {
	Known   bool // gearing and lag are learnt
	Gear    int  // 0 when none
	Clutch  gearstate.Clutch
	SlipPct float64 // of engine speed; 0 unless the clutch slips

	T         float64 // s of the recording, of what is seen; the rest is only good when Known
	RPM       float64 // engine speed at T
	LockedRPM float64 // that the engine would have in this gear with the clutch locked; 0 without a gear
}

func (s State) String() string {
	switch {
	case !s.Known:
		return "gearing not learnt yet"
	case s.Gear == 0:
		return "no gear"
	case s.Clutch == gearstate.Slipping:
		return fmt.Sprintf("gear %d, slipping %.0f %%", s.Gear, s.SlipPct)
	default:
		return fmt.Sprintf("gear %d, %s", s.Gear, s.Clutch)
	}
}

// Watcher follows gear and clutch sample by sample. Feed it from one goroutine; State and Relearn may be called from others.
type Watcher struct {
	// Alarm is told of slip under load, once for each time; may be nil.
	Alarm func(t float64, s State)

	judge *Judge
	book  *SampleBuffer

	mu      sync.Mutex
	model   *gearstate.Model // learnt and not yet in use
	known   detect.Known     // with it
	decoder *gearstate.Decoder
	alarm   *detect.Alarm // the detector of slip under load; analysis/slip proves it
	use     gearstate.Model
	state   State
}

// NewWatcher returns a watcher that learns from the samples of a book.
func NewWatcher(j *Judge, b *SampleBuffer) *Watcher {
	return &Watcher{judge: j, book: b}
}

// Relearn learns gearing and lag from the recording so far. It takes a while: call it beside the recording.
func (w *Watcher) Relearn() {
	log := w.book.Log(0)
	cal, _ := calibrate.Learn([]*drive.Log{log}, w.judge.Vehicle)
	if len(cal.Gears) == 0 || cal.SpeedLag == nil { // a wrong delay looks like slip
		return
	}
	track := cal.Decode(log)
	m, known := track.Model, detect.Learn(track, w.judge.gearbox())
	w.mu.Lock()
	defer w.mu.Unlock()
	w.model, w.known = &m, known
}

// State returns what is seen now.
func (w *Watcher) State() State {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.state
}

// Push takes a sample.
func (w *Watcher) Push(s capture.Sample) {
	w.mu.Lock()
	if w.model != nil {
		w.use, w.decoder, w.alarm, w.model = *w.model, gearstate.NewDecoder(*w.model), detect.NewAlarm(*w.model, w.known), nil
	}
	w.mu.Unlock()
	if w.decoder == nil {
		return
	}
	var states []gearstate.State
	switch s.Channel {
	case drive.EngineSpeed:
		states = w.decoder.PushRPM(s.T, s.V)
	case w.use.SpeedChannel:
		states = w.decoder.PushSpeed(s.T, s.V)
	case w.use.Load.Channel:
		states = w.decoder.PushLoad(s.T, s.V)
	}
	for _, x := range states {
		w.see(x)
	}
}

// see takes one decoded state and raises the alarm.
func (w *Watcher) see(x gearstate.State) {
	s := State{Known: true, Gear: x.Gear, Clutch: x.Clutch}
	if x.Clutch == gearstate.Slipping && x.V > 0 {
		s.SlipPct = 100 * x.Excess / (x.V + x.Excess)
	}
	s.T, s.RPM = x.T, x.N
	if i := w.use.Index(x.Gear); i >= 0 && x.Valid && !math.IsNaN(x.Excess) {
		s.LockedRPM = max(0, x.N-w.use.Gears[i].K*x.Excess)
	}
	w.mu.Lock()
	w.state = s
	w.mu.Unlock()
	if alert, ok := w.alarm.Push(x); ok && w.Alarm != nil {
		s.Gear, s.SlipPct = alert.Gear, alert.SlipPct
		w.Alarm(alert.T, s)
	}
}

// Learnt tells whether gearing and lag are known.
func (w *Watcher) Learnt() bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.model != nil || w.decoder != nil
}
