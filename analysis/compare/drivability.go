package compare

import (
	"math"

	"flywitness/analysis/detect"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/drive"
)

const (
	idleStretch = 5.0   // s at rest before and after which idle counts
	idleNear    = 250.0 // rpm about the idle speed
	shiftLong   = 2.5   // s
	minShifts   = 3
	minLaunches = 3
)

// drivability tells what the change cost: how steadily the engine idles, how fast it falls between gears, how
// long setting off takes. What cannot be had has its reason.
func (c *comparison) drivability() {
	d := &c.finding.Drivability
	d.IdleSDBefore, d.IdleSDAfter = c.before.idleSD(), c.after.idleSD()
	d.ShiftRevFallBefore, d.ShiftRevFallAfter = c.before.shiftFall(), c.after.shiftFall()
	d.LaunchBefore, d.LaunchAfter = c.before.launchTime(), c.after.launchTime()
	d.Reasons = map[string]string{}
	for _, x := range []struct {
		name string
		e    *stats.Estimate
		side *Side
		why  string
	}{
		{"idle_sd_rpm_before", d.IdleSDBefore, &c.before, c.before.whyNoIdle()},
		{"idle_sd_rpm_after", d.IdleSDAfter, &c.after, c.after.whyNoIdle()},
		{"shift_rev_fall_rpm_s_before", d.ShiftRevFallBefore, &c.before, tooFewShifts},
		{"shift_rev_fall_rpm_s_after", d.ShiftRevFallAfter, &c.after, tooFewShifts},
		{"launch_s_before", d.LaunchBefore, &c.before, tooFewLaunches},
		{"launch_s_after", d.LaunchAfter, &c.after, tooFewLaunches},
	} {
		switch {
		case x.e != nil:
		case len(x.side.Logs) == 0:
			d.Reasons[x.name] = "this side has no logs"
		default:
			d.Reasons[x.name] = x.why
		}
	}
}

const (
	tooFewShifts   = "fewer than three upshifts in which engine speed was seen on its way down"
	tooFewLaunches = "fewer than three times of setting off were seen"
)

func (s *Side) whyNoIdle() string {
	if s.Inertia == nil || s.Inertia.IdleRPM <= 0 {
		return "the logs do not show at which speed the engine idles"
	}
	return "fewer than three stops of five seconds with the engine at idle"
}

// launchTime is how long the clutch slips when the car sets off, s; nil without three launches.
func (s *Side) launchTime() *stats.Estimate {
	if s.Slip == nil {
		return nil
	}
	var times []float64
	for _, e := range s.Slip.Engagements {
		if e.Kind == detect.Launch {
			times = append(times, e.Duration)
		}
	}
	if len(times) < minLaunches {
		return nil
	}
	m := stats.Summarise(times)
	return stats.StudentT(m.Mean, m.SD/math.Sqrt(float64(m.N)), float64(m.N-1))
}

const (
	fewestIdles = 3     // stretches of idling that show their spread
	idleValues  = 8     // values of one
	idleGap     = 3.0   // s without a value that end one
	leastFall   = 300.0 // rpm of a fall whose steepness means anything
)

// idleSD is the standard deviation of engine speed at rest at idle, in rpm, about the mean of each stretch; nil
// without three stretches. The stretches, not the samples, are independent: idle hunts slowly. The interval is
// that of a logarithm, since a spread is never negative.
func (s *Side) idleSD() *stats.Estimate {
	if s.Inertia == nil || s.Inertia.IdleRPM <= 0 {
		return nil
	}
	var ln []float64
	for _, l := range s.Logs {
		for _, v := range idleStretches(l, s.Inertia.IdleRPM) {
			if one := stats.Summarise(v); one.SD > 0 {
				ln = append(ln, math.Log(one.SD))
			}
		}
	}
	if len(ln) < fewestIdles {
		return nil
	}
	m := stats.Summarise(ln)
	se := m.SD / math.Sqrt(float64(m.N))
	h := stats.TQuantile(0.975, float64(m.N-1)) * se
	sd := math.Exp(m.Mean)
	return &stats.Estimate{Value: sd, SD: sd * se, CI95: [2]float64{sd * math.Exp(-h), sd * math.Exp(h)}}
}

// idleStretches cuts the engine speed of a log into pieces of at least five seconds at rest near idle, their
// ends left out.
func idleStretches(l *drive.Log, idle float64) [][]float64 {
	rpm := l.Channel(drive.EngineSpeed)
	speed := l.Channel(drive.VehicleSpeed)
	if rpm == nil || speed == nil {
		return nil
	}
	var out [][]float64
	var piece []float64
	var from, last float64
	flush := func() {
		if last-from >= idleStretch && len(piece) >= idleValues {
			cut := len(piece) / 5
			out = append(out, piece[cut:len(piece)-cut])
		}
		piece = nil
	}
	k := 0
	for i, t := range rpm.T {
		for k+1 < speed.Len() && speed.T[k+1] <= t {
			k++
		}
		atRest := speed.Len() > 0 && speed.V[k] == 0 && math.Abs(speed.T[k]-t) < idleGap
		if !atRest || math.Abs(rpm.V[i]-idle) > idleNear || len(piece) > 0 && t-last > idleGap {
			flush()
		}
		if atRest && math.Abs(rpm.V[i]-idle) <= idleNear {
			if len(piece) == 0 {
				from = t
			}
			piece, last = append(piece, rpm.V[i]), t
		}
	}
	flush()
	return out
}

// shiftFall is how fast engine speed falls between the gears of an upshift, rpm/s; nil without three upshifts
// in which it can be seen.
func (s *Side) shiftFall() *stats.Estimate {
	var rates []float64
	for i, t := range s.Tracks {
		if t == nil || i >= len(s.Logs) {
			continue
		}
		rpm := s.Logs[i].Channel(drive.EngineSpeed)
		if rpm == nil {
			continue
		}
		near := window{rpm: rpm, earliest: earliest(rpm.T)}
		for k := 1; k+1 < len(t.Segments); k++ {
			a, open, b := t.Segments[k-1], t.Segments[k], t.Segments[k+1]
			if open.Clutch != gearstate.Open || a.Clutch != gearstate.Locked || b.Clutch != gearstate.Locked || a.Gear == 0 ||
				b.Gear <= a.Gear ||
				b.Start-a.End > shiftLong {
				continue
			}
			if rate, ok := steepestFall(near.slide(a.End-0.1, b.Start+0.1)); ok {
				rates = append(rates, rate)
			}
		}
	}
	if len(rates) < minShifts {
		return nil
	}
	m := stats.Summarise(rates)
	return stats.StudentT(m.Mean, m.SD/math.Sqrt(float64(m.N)), float64(m.N-1))
}

// window slides along a channel whose samples arrived nearly in the order of time.
type window struct {
	rpm      *drive.Channel
	earliest []float64 // time from each sample on
	start    int       // all samples before are from before the window
}

// slide returns the samples among which all those from one time to another are, and these times. The first of them
// never goes back.
func (w *window) slide(from, to float64) (*drive.Channel, float64, float64) {
	t := w.rpm.T
	for w.start < len(t) && t[w.start] < from {
		w.start++
	}
	end := w.start
	for end < len(t) && w.earliest[end] <= to {
		end++
	}
	return &drive.Channel{Name: w.rpm.Name, T: t[w.start:end], V: w.rpm.V[w.start:end]}, from, to
}

// earliest returns the least of the times from each on.
func earliest(t []float64) []float64 {
	out := make([]float64, len(t))
	least := math.Inf(1)
	for i := len(t) - 1; i >= 0; i-- {
		if t[i] < least {
			least = t[i]
		}
		out[i] = least
	}
	return out
}

// steepestFall is the fall from the (last) highest to the following lowest engine speed of a stretch over its
// time; ok is false with fewer than three samples on the way or a fall below 300 rpm.
func steepestFall(rpm *drive.Channel, from, to float64) (rate float64, ok bool) {
	top, bottom := -1, -1
	for i, t := range rpm.T {
		if t < from || t > to {
			continue
		}
		if top < 0 || rpm.V[i] >= rpm.V[top] && bottom < 0 {
			top = i
		} else if bottom < 0 && rpm.V[i] < rpm.V[top] || bottom >= 0 && rpm.V[i] < rpm.V[bottom] {
			bottom = i
		}
	}
	if bottom < top+2 || rpm.V[top]-rpm.V[bottom] < leastFall || rpm.T[bottom] <= rpm.T[top] {
		return 0, false
	}
	return (rpm.V[top] - rpm.V[bottom]) / (rpm.T[bottom] - rpm.T[top]), true
}
