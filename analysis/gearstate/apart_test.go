package gearstate

import (
	"math"
	"testing"
)

// Two values in turn, every two seconds: with a delay of 0.7 s the next engine speed stands 0.7 s away, with one of 1.5 s
// 0.5 s, and without engine speed none stands anywhere.
func TestEngineSpeedStandsApart(t *testing.T) {
	var s Signals
	for i := range 50 {
		x := 2 * float64(i)
		s.SpeedT, s.Speed = append(s.SpeedT, x), append(s.Speed, 50)
		s.RPMT, s.RPM = append(s.RPMT, x), append(s.RPM, 2000)
	}
	for _, c := range []struct{ lag, want float64 }{{0, 0}, {0.7, 0.7}, {1.5, 0.5}, {2, 0}} {
		if got := s.apart(c.lag); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("delay %.1f s: %.2f s apart, want %.2f", c.lag, got, c.want)
		}
	}
	if got := (&Signals{SpeedT: s.SpeedT, Speed: s.Speed}).apart(0); got != 0 {
		t.Errorf("%.2f s from no engine speed", got)
	}
}

// A car that speeds up steadily and changes gear between two values: at the moments of road speed, 0.8 s from those of
// engine speed, the engine would stand between its gears; at its own moments it is in one or the other, and road speed
// on its line. Closer than a quarter of a second nothing is moved, and a gap in road speed is not bridged.
func TestRoadSpeedAtTheMomentsOfTheEngine(t *testing.T) {
	var s Signals
	for i := range 40 {
		x := 1.9 * float64(i)
		if i < 20 || i >= 26 {
			s.SpeedT, s.Speed = append(s.SpeedT, x), append(s.Speed, 20+x)
		}
		s.RPMT, s.RPM = append(s.RPMT, x), append(s.RPM, 2000)
	}
	got := s.AtEngine(1.1)
	if math.Abs(got.Apart-0.8) > 1e-9 || len(got.SpeedT) != 39-7 {
		t.Errorf("%.2f s apart, %d values", got.Apart, len(got.SpeedT))
	}
	for i, x := range got.SpeedT {
		if math.Abs(got.Speed[i]-20-x) > 1e-9 || math.Abs(math.Mod(x-1.1+1e-6, 1.9)) > 1e-3 {
			t.Errorf("%.2f km/h at %.2f s", got.Speed[i], x)
		}
	}
	if got := s.AtEngine(0.2); got.Apart != 0.2 && math.Abs(got.Apart-0.2) > 1e-9 || len(got.SpeedT) != len(s.SpeedT) {
		t.Errorf("%.2f s apart, %d values", got.Apart, len(got.SpeedT))
	}
	if got := s.AtEngine(0.4); math.Abs(got.Apart-0.4) > 1e-9 || math.Abs(got.SpeedT[0]-0.4) > 1e-9 {
		t.Errorf("%.2f s apart, the first road speed at %.2f s", got.Apart, got.SpeedT[0])
	}
}

// Engine speed five times as often as road speed, which comes each second: road speed is read on its lines at each of them,
// and how far apart its own values are is known, since they tell no more than they did. Not where it is hardly oftener, nor
// on a quick link, nor where a change of gear may lie between two road speeds.
func TestEngineSpeedOftenerThanRoadSpeed(t *testing.T) {
	both := func(speed, engine float64) (s Signals) {
		for i := range 61 {
			x := speed * float64(i)
			s.SpeedT, s.Speed = append(s.SpeedT, x), append(s.Speed, 20+x)
		}
		for i := range int(60 * speed / engine) {
			s.RPMT, s.RPM = append(s.RPMT, engine*float64(i)), append(s.RPM, 2000)
		}
		return s
	}
	for _, c := range []struct {
		speed, engine float64
		drawn         bool
	}{{1, 0.2, true}, {1, 0.5, true}, {1, 0.6, false}, {0.5, 0.4, false}, {0.2, 0.05, false}, {2, 0.2, false}} {
		s := both(c.speed, c.engine)
		got := s.AtEngine(0.1)
		if !c.drawn {
			if got.Drawn != 0 || len(got.SpeedT) != len(s.SpeedT) {
				t.Errorf("%.2f and %.2f s: %d road speeds, drawn over %.1f s", c.speed, c.engine, len(got.SpeedT), got.Drawn)
			}
			continue
		}
		if got.Drawn != c.speed || len(got.SpeedT) < len(s.RPMT)-2 {
			t.Errorf("%.2f and %.2f s: %d road speeds, drawn over %.1f s", c.speed, c.engine, len(got.SpeedT), got.Drawn)
		}
		for i, x := range got.SpeedT {
			if math.Abs(got.Speed[i]-20-x) > 1e-9 {
				t.Errorf("%.2f km/h at %.2f s", got.Speed[i], x)
			}
		}
	}
	s := both(1, 0.1)
	for i := range s.RPM { // lines from one value each 0.7 s to the next
		k := i / 7
		from, to := 2000+300*math.Sin(float64(k)), 2000+300*math.Sin(float64(k+1))
		s.RPM[i] = math.Round(100*(from+(to-from)*float64(i-7*k)/7)) / 100
	}
	if got := s.AtEngine(0.1); got.Drawn != 0 {
		t.Error("engine speeds on drawn lines are taken for values")
	}
	m := Model{Period: 0.2, Drawn: 1}.Live()
	if m.Period != 1 || m.Drawn != 0 || (Model{Period: 0.2}).Live().Period != 0.2 {
		t.Errorf("live a road speed each %.1f s, drawn over %.1f s", m.Period, m.Drawn)
	}
}
