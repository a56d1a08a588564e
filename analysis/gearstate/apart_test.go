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
