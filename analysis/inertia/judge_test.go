package inertia

import (
	"math"
	"testing"

	"flywitness/drive"
	"flywitness/finding"
)

// revved is a log of four free revs from a top speed in rpm that fall evenly at a rate in rpm/s to an idle of 850,
// with a value every step s.
func revved(top, rate, step float64) *drive.Log {
	c := &drive.Channel{Name: drive.EngineSpeed}
	long := 5 + (top-850)/rate + 3
	for t := 0.0; t < 4*long; t += step * 1.0037 {
		s, n := math.Mod(t, long), 850.0
		switch {
		case s > 5:
			n = math.Max(850, top-rate*(s-5))
		case s > 4:
			n = 850 + (top-850)*(s-4)
		}
		c.T, c.V = append(c.T, t), append(c.V, n)
	}
	return &drive.Log{Path: "revved", Channels: []*drive.Channel{c}}
}

// Engines fall by 500 rpm/s with a heavy flywheel and by some thousands with a light one; 200 are no engine that was
// let go, 12000 none that turns a flywheel.
func TestRatesThatEnginesFallWith(t *testing.T) {
	for rate, want := range map[float64]int{500: 4, 3000: 4, 200: 0, 12000: 0} {
		top := math.Max(4600, 0.8*rate) // something is left below the first third of a second

		f, _ := Measure([]*drive.Log{revved(top, rate, math.Min(0.1, 100/rate))}, nil, nil, Options{})
		used, why := reasons(f)
		if used != want || want == 0 && why[finding.RateImplausible] < 3 {
			t.Errorf("%.0f rpm/s: %d used, refused %v", rate, used, why)
		}
	}
}

// Throttle and manifold take two or three tenths of a second, and a fall is over in one and a half: what is used
// begins between.
func TestTheFirstMomentsOfAFallAreLeftOut(t *testing.T) {
	f, _ := Measure([]*drive.Log{revved(4600, 2000, 0.05)}, nil, nil, Options{})
	for _, r := range f.FreeRevs(RevDown) {
		if after := r.T[0] - r.Start; after < 0.25 || after > 0.6 {
			t.Errorf("used from %.2f s after the release", after)
		}
	}
	s := &preparedLog{closed: []closedThrottle{{foot: true}}}
	fall := &fall{release: 10}
	if !s.footOff(fall, 10.1) || s.footOff(fall, 10.9) || (&preparedLog{}).footOff(fall, 10.1) {
		t.Error("a foot is off 0.1 s after the peak, not 0.9 s after it, and not known where nobody recorded it")
	}
}

// A hole of 0.8 s in a value every 0.1 s may hide a dab at the throttle; one missing value does not.
func TestAHoleInAFall(t *testing.T) {
	s := &preparedLog{log: &drive.Log{}, interval: 0.1}
	for hole, want := range map[float64]finding.Code{0.1: "", 0.2: "", 0.8: finding.Gap} {
		var at, rpm []float64
		for i := range 16 {
			x := float64(i) / 10
			if i >= 8 {
				x += hole - 0.1
			}
			at, rpm = append(at, x), append(rpm, 4200-1500*x)
		}
		if why := s.enough(at, rpm); (why == nil) != (want == "") || why != nil && why.Code != want {
			t.Errorf("a hole of %.1f s: %v", hole, why)
		}
	}
}

// A fall that the record ends with, or that a hole ends, was cut short; one after which engine speed goes on was
// caught.
func TestWhetherTheRecordEndsWithAFall(t *testing.T) {
	s := &preparedLog{interval: 0.1}
	for i := range 100 {
		at := float64(i) / 10
		if i > 50 {
			at += 2
		}
		s.t = append(s.t, at)
	}
	for end, want := range map[int]bool{30: false, 50: true, 99: true} {
		if s.endsRecord(&fall{t: s.t[:end+1]}) != want {
			t.Errorf("a fall that ends at %.1f s: the record ends there is %v", s.t[end], !want)
		}
	}
}

// freeRevsAt are straight free revs of one sitting with these rates in rpm/s.
func freeRevsAt(rates ...float64) *Finding {
	f := &Finding{}
	for i, rate := range rates {
		r := falling(4500, 1500, func(_, _ float64) float64 { return rate })
		r.Kind, r.Gear = RevDown, 0
		for j := range r.T {
			r.T[j] += 20 * float64(i)
		}
		f.Runs = append(f.Runs, *r)
	}
	return f
}

func usedIn(f *Finding) int { return len(f.FreeRevs(RevDown)) }

// The drag of a warm engine repeats within a few per cent. Six falls of which no two are alike (a median deviation of
// about 20 %) are moved by something else; four do not tell, and 5 % may be a cold engine.
func TestFallsThatDoNotRepeat(t *testing.T) {
	for name, c := range map[string]struct {
		rates []float64
		want  int
	}{
		"wild":          {[]float64{750, 800, 950, 1100, 1250, 1300}, 0},
		"a cold engine": {[]float64{930, 950, 990, 1020, 1050, 1070}, 6},
		"four":          {[]float64{750, 900, 1100, 1300}, 4},
	} {
		f := freeRevsAt(c.rates...)
		f.refuseForeign()
		if usedIn(f) != c.want {
			t.Errorf("%s: %d used, want %d", name, usedIn(f), c.want)
		}
	}
}

// One fall a tenth or more off a set that repeats within a per cent had a throttle that was not shut; of a set that
// scatters by 3 %, that may be chance and a third off is not. 4 % off is a matter of the robust mean, not of a
// refusal.
func TestAFallUnlikeTheOthers(t *testing.T) {
	for name, c := range map[string]struct {
		rates []float64
		want  int
	}{
		"an eighth off":                     {[]float64{990, 995, 1000, 1005, 1010, 880}, 5},
		"4 % off":                           {[]float64{990, 995, 1000, 1005, 1010, 961}, 6},
		"a tenth off, and the set scatters": {[]float64{955, 970, 1000, 1030, 1045, 905}, 6},
		"a third off, and the set scatters": {[]float64{955, 970, 1000, 1030, 1045, 680}, 5},
		"three":                             {[]float64{1000, 1005, 700}, 3},
	} {
		f := freeRevsAt(c.rates...)
		f.settleRates()
		if usedIn(f) != c.want {
			t.Errorf("%s: %d used, want %d", name, usedIn(f), c.want)
		}
	}
}

// Two methods known to 5 % each miss each other with a standard deviation of 7.07 %. By the normal table 1.645 of
// those are p = 0.10, 2.17 are 0.03, 3.09 are 0.002 and 3.48 are 0.0005.
func TestHowFarTwoMethodsMayDiffer(t *testing.T) {
	for z, want := range map[float64]string{1.645: "", 2.17: "methods_disagree", 3.09: "methods_disagree",
		3.48: "methods_contradict"} {
		m := &measurement{finding: &Finding{}}
		for _, ln := range []float64{0, z * 0.05 * math.Sqrt2} {
			m.finding.Methods = append(m.finding.Methods, *newMethod("one", ln, ErrorParts{Own: 0.05}))
		}
		m.combine()
		code := ""
		for _, w := range m.warnings {
			code += string(w.Code)
		}
		if code != want || (m.finding.Inertia == nil) != (want == "methods_contradict") ||
			*m.finding.MethodsAgree != (want == "") {
			t.Errorf("%.2f standard deviations: %q, inertia %v", z, code, m.finding.Inertia)
		}
	}
}

// A start-stop system stops the engine within a few seconds of standing with the foot off, and starts it again; ten
// seconds later somebody turned the key, and an engine that stays off was switched off.
func TestAnEngineThatStopsByItself(t *testing.T) {
	idle := func(stop, start float64) *preparedLog {
		s := &preparedLog{}
		for i := range 400 {
			at, n := float64(i)/10, 850.0
			if at >= stop && at < start {
				n = 0
			}
			s.t, s.n = append(s.t, at), append(s.n, n)
		}
		return s
	}
	for name, c := range map[string]struct {
		preparedLog *preparedLog
		want        bool
	}{"stops after 3 s, runs again": {idle(3, 8), true}, "stops after 12 s": {idle(12, 20), false},
		"stays off": {idle(3, 100), false}, "runs on": {idle(100, 100), false}} {
		if c.preparedLog.stopsAfter(0) != c.want {
			t.Errorf("%s: %v", name, !c.want)
		}
	}
}

// What is not a number never reaches a series.
func TestSeriesAreFinite(t *testing.T) {
	l := &drive.Log{Channels: []*drive.Channel{{Name: drive.Pedal, T: []float64{0, 1, math.NaN(), 3, 4},
		V: []float64{1, math.NaN(), 2, math.Inf(1), 5}}}}
	if s := newSeries(l, drive.Pedal); len(s.v) != 2 || s.v[0] != 1 || s.v[1] != 5 {
		t.Errorf("%+v", s)
	}
}

// turning is an engine that rises by 3000 rpm/s, turns within d seconds at an even change of its rate, and falls by
// 1500 rpm/s. From half of the rise to half of the fall the rate changes by 2250 of the 4500 rpm/s: half of d, by
// hand.
func turning(d float64) ([]*preparedLog, []*Run) {
	s, n := &preparedLog{}, 1000.0
	for t := 0.0; t < 2.5+d; t += 0.01 {
		rate := 3000 - 4500*math.Min(1, math.Max(0, (t-1)/d))
		if len(s.t) == 0 || t-s.t[len(s.t)-1] > 0.049 {
			s.t, s.n = append(s.t, t), append(s.n, n)
		}
		n += rate * 0.01
	}
	k := len(s.t)
	r := &Run{Kind: RevDown, Used: true, Start: 1 + d*2/3, T: s.t[k-20:], RPM: s.n[k-20:], MeanRate: 1500}
	return []*preparedLog{s}, []*Run{r, r, r}
}

// An engine that is held for a moment before it is let go, as drivers are asked to, was smoothed by nobody; one that a
// filter shows, held or not, was.
func TestAHeldEngineIsNotSmoothed(t *testing.T) {
	for _, c := range []struct{ held, filter, lo, hi float64 }{{0, 0, 0, 0.3}, {0.8, 0, 0, 0.3}, {0.8, 0.5, 0.5, 1.1},
		{0, 0.5, 0.5, 1.1}} {
		s, n, shown := &preparedLog{}, 1000.0, 1000.0
		for t := 0.0; t < 3+c.held; t += 0.01 {
			switch {
			case t < 1:
				n += 30
			case t >= 1+c.held:
				n -= 15 * math.Min(1, (t-1-c.held)/0.2)
			}
			shown += (n - shown) * 0.01 / math.Max(0.01, c.filter)
			if len(s.t) == 0 || t-s.t[len(s.t)-1] > 0.049 {
				s.t, s.n = append(s.t, t), append(s.n, shown)
			}
		}
		k := len(s.t)
		r := &Run{Kind: RevDown, Used: true, Start: 1.2 + c.held, T: s.t[k-20:], RPM: s.n[k-20:], MeanRate: 1500}
		if got, ok := s.turnOf(r); !ok || got < c.lo || got > c.hi {
			t.Errorf("held for %.1f s, filter of %.1f s: a turn of %.2f s, %v", c.held, c.filter, got, ok)
		}
	}
}

// A foot and a throttle turn an engine within a quarter of a second. Where the record takes 0.6 s, it is smoothed and
// the inertia is off by some per cent, which its error must allow for; where it takes more than a second nothing is
// left to measure.
func TestSmoothingShowsInTheTurn(t *testing.T) {
	for d, want := range map[float64]struct {
		lo, hi float64
		given  bool
	}{0.5: {0, 0, true}, 1.2: {0.03, 0.2, true}, 2.4: {0, 0, false}} {
		scenes, revs := turning(d)
		if all := turns(scenes, revs); len(all) != 3 || math.Abs(all[0]-d/2) > 0.06 {
			t.Errorf("turns %.2f, by hand %.2f s", all, d/2)
		}
		if sd, why := smoothed(scenes, revs); sd < want.lo || sd > want.hi || (why == nil) != want.given {
			t.Errorf("a turn of %.2f s: %.3f, %v", d/2, sd, why)
		}
	}
}

// At 2.5 values a second a fall of a second and a half leaves three or four, and one more is worth having; at eight a
// second there are enough without those in which fuel may be back. Either way nothing below the idle controller is
// used.
func TestHowFarDownAFallIsUsed(t *testing.T) {
	slow, quick := &preparedLog{idle: 850, interval: 0.4}, &preparedLog{idle: 850, interval: 0.125}
	if slow.freeRevBottom() > quick.freeRevBottom()-100 || quick.freeRevBottom() != quick.bottom() {
		t.Errorf("down to %.0f rpm on a slow link, %.0f on a quick one", slow.freeRevBottom(), quick.freeRevBottom())
	}
	if slow.freeRevBottom() < slow.idle+300 {
		t.Errorf("%.0f rpm is where an engine of 850 rpm is caught", slow.freeRevBottom())
	}
}
