package calibrate

import (
	"math"
	"slices"
	"sync"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/internal/parts"
	"flywitness/vehicle"
)

// series is one log as the calibration sees it: the samples of road speed and, beside them, engine speed on its
// own clock.
type series struct {
	input             int       // which log
	gearstate.Signals           // thinned out
	a                 []float64 // km/h/s around each road speed sample
	dt                []float64 // s that a sample stands for, at most 1
	lasts             float64   // s for which the log tells road speed: see lasting
	place             []int32   // of each road speed sample among those of engine speed, without a lag
	gap               float64   // s between engine speed samples that is bridged
}

// pool is all logs of a car with what they have in common.
type pool struct {
	channel   string
	signals   []gearstate.Signals // of all logs
	loads     []*drive.Log        // the same, with no more than the channels that may tell load
	logs      []*series           // of those that have enough of them
	period    float64             // s, of the slower channel
	refresh   float64             // s, the longest of the logs
	averaged  float64             // s, the same
	step      float64             // km/h
	rpmStep   float64             // rpm
	coarse    bool                // whole-second stamps or so slow a link that rounding cannot be told
	idle      float64
	moving    float64 // s with v >= 10 km/h
	stampStep float64
	load      gearstate.LoadScale
	top       float64   // the most torque, as torque measures it
	adds      float64   // km/h that the dial adds to every speed, where a vehicle file shows that it does
	filed     []float64 // ln(rpm per km/h) of the gears of a vehicle file whose ladder the log does not bear out
}

const minMoving = 10.0 // km/h above which the steps of road speed do not drown the ratio

const (
	slopeHalf   = 0.6 // s on either side of a moment from which its acceleration is taken,
	slopeValues = 1.6 // and intervals
	lineValues  = 3   // of such a line

	fewestValues = 5    // of a channel that is there at all
	commonShare  = 0.05 // of all changes: a step that is common
	// No display has larger steps, and finer ones do not matter.
	mostStep, fineStep       = 5.0, 0.05  // km/h
	mostRPMStep, fineRPMStep = 200.0, 5.0 // rpm, 0.2 km/h in a tall gear
)

// gather reads the signals of all logs.
func gather(logs []*drive.Log, veh *vehicle.Vehicle) *pool {
	p := &pool{channel: speedChannel(logs, veh)}
	var periods []float64
	n := 0
	for _, l := range logs {
		if c := l.Channel(p.channel); c != nil {
			n += c.Len()
		}
		p.stampStep = math.Max(p.stampStep, l.StampStep)
	}
	p.signals, p.loads = make([]gearstate.Signals, len(logs)), make([]*drive.Log, len(logs))
	parts.Each(len(logs), 1, func(i, _ int) { p.signals[i] = gearstate.ReadSignals(logs[i], p.channel) })
	for i, l := range logs {
		p.loads[i] = l.Only(gearstate.LoadChannels(veh)...)
		s := &series{input: i, Signals: p.signals[i]}
		if len(s.RPMT) < fewestValues || len(s.SpeedT) < fewestValues {
			continue
		}
		periods = append(periods, math.Max(stats.MedianStep(s.SpeedT), stats.MedianStep(s.RPMT)))
		p.refresh = max(p.refresh, s.Refresh)
		p.averaged = max(p.averaged, gearstate.AveragedOver(s.RPMT, s.RPM), gearstate.AveragedOver(s.SpeedT, s.Speed))
		p.logs = append(p.logs, s)
	}
	if len(p.logs) == 0 {
		return p
	}
	slices.Sort(periods)
	p.period = periods[len(periods)/2]
	driven := 0.0
	for _, s := range p.logs { // before the loads are read beside what thins the speeds out
		s.lasts = lasting(s.SpeedT, p.period)
		driven += s.lasts
	}
	var beside sync.WaitGroup
	beside.Go(func() { p.readLoads(veh) })
	p.steps(veh)
	half := math.Max(slopeHalf, slopeValues*p.period)
	few := fewOf(n, driven)
	parts.Each(len(p.logs), 1, func(l, _ int) { p.logs[l].thinOut(few, p.period, half) })
	for _, s := range p.logs {
		for i, v := range s.Speed {
			if v >= minMoving {
				p.moving += s.dt[i]
			}
		}
	}
	p.coarse = p.period > gearstate.SlowestLink || p.stampStep >= gearstate.CoarseStamps
	beside.Wait()
	return p
}

// lasting is how long (s) values are there at times t.
func lasting(t []float64, period float64) (s float64) {
	for i := 1; i < len(t); i++ {
		s += standsFor(t, i, period)
	}
	return s
}

// standsFor is how long (s) value i at times t stands for: since the one before, at most for an interval or a second.
func standsFor(t []float64, i int, period float64) float64 {
	return min(max(1, period), t[i]-t[i-1])
}

// readLoads picks the channel that tells load, and reads it.
func (p *pool) readLoads(veh *vehicle.Vehicle) {
	p.load = loadScale(p, veh)
	for i, l := range p.loads {
		p.signals[i].ReadLoad(l, p.load.Channel)
	}
	p.loads = nil
	for _, s := range p.logs {
		s.LoadT, s.Load = p.signals[s.input].LoadT, p.signals[s.input].Load
	}
}

// steps learns the steps of both signals, and at what the engine idles.
func (p *pool) steps(veh *vehicle.Vehicle) {
	var all sync.WaitGroup
	all.Go(func() { p.step = p.commonStep(func(s *series) []float64 { return s.Speed }, mostStep, fineStep) })
	all.Go(func() { p.rpmStep = p.commonStep(func(s *series) []float64 { return s.RPM }, mostRPMStep, fineRPMStep) })
	var idle gearstate.Idle
	for _, s := range p.logs {
		idle.Add(s.RPMT, s.RPM, s.SpeedT, s.Speed, 0)
	}
	p.idle = idle.RPM(veh)
	all.Wait()
}

// thinOut leaves road speeds out, and works out what belongs to the others: the acceleration over half as many seconds
// on either side, and the time that each stands for, with that of the minutes that were left out.
func (s *series) thinOut(few few, period, half float64) {
	s.SpeedT, s.Speed = few.of(s.SpeedT, s.Speed, s.input)
	s.gap = gearstate.SignalGap(period)
	var all sync.WaitGroup
	all.Go(func() { s.place = s.places() })
	s.a = slopes(s.SpeedT, s.Speed, half)
	s.dt = make([]float64, len(s.SpeedT))
	for i := 1; i < len(s.SpeedT); i++ {
		s.dt[i] = float64(few.every) * standsFor(s.SpeedT, i, period)
	}
	all.Wait()
}

// Channels are those that learning reads of a log.
func Channels(veh *vehicle.Vehicle) []string {
	return append(gearstate.LoadChannels(veh), drive.EngineSpeed, drive.VehicleSpeed, drive.GPSSpeed, drive.UndrivenSpeed)
}

// speedChannel picks the road speed that most logs carry: the car's own unless the vehicle file says GPS.
func speedChannel(logs []*drive.Log, veh *vehicle.Vehicle) string {
	order := []string{drive.VehicleSpeed, drive.GPSSpeed, drive.UndrivenSpeed}
	if veh != nil && veh.SpeedSource == vehicle.SourceGPS {
		order = []string{drive.GPSSpeed, drive.VehicleSpeed, drive.UndrivenSpeed}
	}
	best, most := order[0], 0
	for _, name := range order {
		n := 0
		for _, l := range logs {
			if c := l.Channel(name); c != nil && c.Len() >= fewestValues {
				n++
			}
		}
		if n > most {
			best, most = name, n
		}
	}
	return best
}

// commonStep is the step between the values of a signal that all logs have: the smallest difference of neighbours
// that is common, 0 when it is too fine to matter.
func (p *pool) commonStep(signal func(s *series) []float64, most, fine float64) float64 {
	counts := make([]int, int(most*1000)+1) // of differences in thousandths
	n := 0
	for _, s := range p.logs {
		v := signal(s)
		for i := 1; i < len(v); i++ {
			if d := math.Abs(v[i] - v[i-1]); d > 0 && d < most {
				counts[int(d*1000+0.5)]++ // math.Round takes longer than the rest
				n++
			}
		}
	}
	for d, c := range counts {
		if n == 0 || c == 0 || float64(c) < commonShare*float64(n) {
			continue
		}
		if step := float64(d) / 1000; step >= fine {
			return step
		}
		return 0
	}
	return 0
}

// slopes is the least-squares slope of v around each sample within +-half seconds.
func slopes(t, v []float64, half float64) []float64 {
	out := make([]float64, len(t))
	lo, hi := 0, 0
	for i := range t {
		for hi < len(t) && t[hi] <= t[i]+half {
			hi++
		}
		for t[lo] < t[i]-half {
			lo++
		}
		var line stats.Line
		for j := lo; j < hi; j++ {
			line.Add(t[j]-t[i], v[j]-v[i])
		}
		if line.N >= lineValues && line.Spread() > 1e-9 {
			out[i] = line.Slope()
		}
	}
	return out
}

// reader interpolates the engine speed of a series at a lag. It keeps the place between two engine speed samples
// where each moment fell: lags that are tried one after another differ little. One goroutine at a time for a sample.
type reader struct {
	*series
	place []int32
}

// readers returns a reader of every log.
func (p *pool) readers() []*reader {
	out := make([]*reader, len(p.logs))
	for l, s := range p.logs {
		out[l] = &reader{series: s, place: slices.Clone(s.place)}
	}
	return out
}

// places returns for each road speed sample the first engine speed sample that is not before it.
func (s *series) places() []int32 {
	out := make([]int32, len(s.SpeedT))
	j := 0
	for i, t := range s.SpeedT {
		for j < len(s.RPMT) && s.RPMT[j] < t {
			j++
		}
		out[i] = int32(j)
	}
	return out
}

// engine returns engine speed at the moment of road speed sample i less a lag, NaN where it has a gap, and its rate
// in rpm/s.
func (r *reader) engine(i int, lag float64) (n, rate float64) {
	t, at, j := r.RPMT, r.SpeedT[i]-lag, int(r.place[i])
	for j < len(t) && t[j] < at {
		j++
	}
	for j > 0 && t[j-1] >= at {
		j--
	}
	r.place[i] = int32(j)
	if j == 0 || j >= len(t) {
		return math.NaN(), 0
	}
	d := t[j] - t[j-1]
	if d > r.gap {
		return math.NaN(), 0
	}
	rate = (r.RPM[j] - r.RPM[j-1]) / d
	return r.RPM[j-1] + rate*(at-t[j-1]), rate
}

// stride is how far apart samples may be taken where only the outline counts: a few thousand show it.
func (s *series) stride() int { return 1 + len(s.SpeedT)/5000 }
