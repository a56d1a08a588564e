package gearstate

import (
	"fmt"
	"math"
	"testing"

	"flywitness/drive"
)

// scene is a stretch of driving written down by hand: engine speed (rpm), road speed (km/h) and load fraction at
// each moment.
type scene struct {
	name   string
	every  float64 // s between values
	noLoad bool
	at     func(t float64) (rpm, v, load float64)
	want   []told
}

// told is what the decoder must say from one time to another: of at least nine tenths of the samples, or never.
type told struct {
	from, to float64
	gear     int
	clutch   Clutch
	never    bool
}

// ladder is rpm per km/h of first to fifth.
var ladder = []float64{118, 67, 47, 35.7, 28.8}

// decoded is a scene after twenty seconds of a cruise in third at 60 km/h, which begins at -20 s.
func (s *scene) decoded() *Track {
	l := &drive.Log{Channels: []*drive.Channel{{Name: drive.EngineSpeed}, {Name: drive.VehicleSpeed},
		{Name: drive.EngineLoad}}}
	every := s.every
	if every == 0 {
		every = 0.1
	}
	for i := range int(40 / every) {
		at := every*float64(i) - 20
		rpm, v, load := 60*ladder[2], 60.0, 0.25
		if at >= 0 {
			rpm, v, load = s.at(at)
		}
		for q, x := range []float64{math.Round(4*rpm) / 4, math.Round(v), 100 * load} {
			l.Channels[q].T, l.Channels[q].V = append(l.Channels[q].T, at+20), append(l.Channels[q].V, x)
		}
	}
	m := Model{SpeedChannel: drive.VehicleSpeed, Step: 1, Period: every, LagSD: 0.01, TimingSD: 0.02, Idle: 850}
	if !s.noLoad {
		m.Load = LoadScale{Channel: drive.EngineLoad, Closed: 0, Full: 100}
	}
	for i, k := range ladder {
		m.Gears = append(m.Gears, Gearing{Number: i + 1, K: k, SD: 0.0005 * k})
	}
	return Decode(l, m)
}

// between runs from a to b while t goes from from to to.
func between(t, from, to, a, b float64) float64 {
	return a + (b-a)*max(0, min(1, (t-from)/(to-from)))
}

// pull is a full-load pull in third from 60 km/h, 5 km/h/s, whose engine runs ahead of the car by a share that slip
// gives.
func pull(slip func(t float64) float64) func(t float64) (rpm, v, load float64) {
	return func(t float64) (float64, float64, float64) {
		v := 60 + 5*min(t, 12)
		if t > 12 {
			return v * ladder[2], v, 0.25
		}
		return v * ladder[2] * (1 + slip(t)), v, 1
	}
}

// change is a gear change from third to fourth from t = 4 s on: the clutch is out for some seconds, the load in
// that time is given.
func change(out, load float64) func(t float64) (rpm, v, load float64) {
	return func(t float64) (float64, float64, float64) {
		v := between(t, 0, 4, 60, 72) + between(t, 4+out, 12, 0, 20)
		switch {
		case t < 4:
			return v * ladder[2], v, 0.6
		case t < 4+out:
			return between(t, 4, 4+out, v*ladder[2], v*ladder[3]), v, load
		}
		return v * ladder[3], v, 0.6
	}
}

// flare is a change at which the foot stays down: the engine runs up by 2500 rpm/s while the clutch is out.
func flare(out, load float64) func(t float64) (rpm, v, load float64) {
	steady := change(out, load)
	return func(t float64) (float64, float64, float64) {
		rpm, v, x := steady(t)
		if t >= 4 && t < 4+out {
			rpm = v*ladder[2] + 2500*(t-4)
		}
		return rpm, v, x
	}
}

// above is a drive in third whose engine turns faster by a share from 3 s on, for so many seconds, on a speed that
// changes by rate (km/h/s).
func above(share, seconds, rate, load float64) func(t float64) (rpm, v, load float64) {
	return func(t float64) (float64, float64, float64) {
		v, e := 60+rate*min(t, 10), 0.0
		if t > 3 && t < 3+seconds {
			e = share
		}
		return v * ladder[2] * (1 + e), v, load
	}
}

// crawl slows down to a speed and rolls on in first.
func crawl(v float64) func(t float64) (rpm, v, load float64) {
	return func(t float64) (float64, float64, float64) {
		if slow := between(t, 0, 8, 60, v); t < 8 {
			return max(850, slow*ladder[2]), slow, 0
		}
		return v * ladder[0], v, 0.2
	}
}

// What a driver does and what a clutch does, told apart.
func TestScenes(t *testing.T) {
	never := func(gear int) told { return told{0, 19, gear, Slipping, true} }
	third, fourth := told{0.5, 3.8, 3, Locked, false}, told{5.2, 19, 4, Locked, false}
	for _, s := range []scene{
		{name: "a healthy pull", at: pull(func(float64) float64 { return 0 }), want: []told{{0.5, 11.5, 3, Locked, false}}},
		{name: "a clutch that slips by 8 %", at: pull(func(t float64) float64 { return between(t, 3, 4, 0, 0.08) }),
			want: []told{{0.5, 2.8, 3, Locked, false}, {4.2, 11.5, 3, Slipping, false}, {13, 19, 3, Locked, false}}},
		{name: "by 3 % for a second and a half", at: pull(func(t float64) float64 {
			return 0.03 * math.Floor(between(t, 3, 3.01, 0, 1)-between(t, 4.5, 4.51, 0, 1))
		}),
			want: []told{{0.5, 2.8, 3, Locked, false}, {3.3, 4.4, 3, Slipping, false}, {5, 11.5, 3, Locked, false}}},
		{name: "oil on the lining: it slips at a third of the load", at: above(0.03, 3, 0, 0.25),
			want: []told{{3.3, 5.8, 3, Slipping, false}, {6.5, 19, 3, Locked, false}}},
		{name: "a change with a lift", at: change(0.7, 0),
			want: []told{third, {4.15, 4.55, 0, Open, false}, fourth, never(3), never(4)}},
		{name: "a slow change, many values, no load", every: 0.05, noLoad: true, at: change(0.8, 0),
			want: []told{third, fourth, never(3), never(4)}},
		{name: "a quick change at ten values a second: the clutch was out", at: change(0.2, 0),
			want: []told{third, {4.05, 4.15, 0, Open, false}, fourth, never(3), never(4)}},
		{name: "a quick change at full load", at: change(0.3, 0.9),
			want: []told{third, {4.15, 4.35, 0, Open, false}, fourth, never(3), never(4)}},
		{name: "the foot stays down and the engine runs up", at: flare(0.8, 0.5),
			want: []told{third, {4.3, 4.65, 0, Open, false}, fourth, never(3), never(4)}},
		{name: "the foot stays on the floor", at: flare(0.8, 0.9),
			want: []told{third, {4.3, 4.65, 0, Open, false}, fourth, never(3), never(4)}},
		{name: "throttle shut, clutch out, a slow link", every: 0.4, at: above(0.08, 1.5, -1, 0),
			want: []told{{0.5, 2.8, 3, Locked, false}, {3.2, 4.6, 0, Open, false}, never(3)}},
		{name: "rolling at idle in first", at: crawl(7), want: []told{{8.5, 19, 1, Locked, false}}},
	} {
		s.check(t)
	}
}

func (s *scene) check(t *testing.T) {
	t.Helper()
	tr := s.decoded()
	for _, w := range s.want {
		n, right := 0, 0
		for i := range tr.T {
			if at := tr.T[i] - 20; at >= w.from && at <= w.to {
				n++
				if int(tr.Gear[i]) == w.gear && tr.Clutch[i] == w.clutch {
					right++
				}
			}
		}
		if w.never && right > 0 || !w.never && (n == 0 || 10*right < 9*n) {
			t.Errorf("%s: from %g to %g s %d of %d samples in gear %d %v: %s", s.name, w.from, w.to, right, n, w.gear,
				w.clutch, course(tr))
		}
	}
}

// course is how a track goes from 0 s on.
func course(tr *Track) (out string) {
	for _, s := range tr.Segments {
		if s.End > 20 {
			out += fmt.Sprintf(" %.1f-%.1f %d %v;", s.Start-20, s.End-20, s.Gear, s.Clutch)
		}
	}
	return out
}
