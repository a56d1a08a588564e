package drag

import (
	"math"
	"testing"
)

// Noise of 0.05 V a value leaves 0.02 V of the mean of six, which tells a charge of 0.25 V; a value or two in the falls of
// a side tell nothing of what the others had.
func TestHowManyVoltages(t *testing.T) {
	for n, want := range map[int]bool{1: false, 2: false, 6: true} {
		s := &Side{Holds: []Hold{{Used: true, volts: []float64{14.1, 14.1}}}, falls: map[int]*fallFacts{0: {}}}
		for range n {
			s.falls[0].volts = append(s.falls[0].volts, []float64{14.1})
		}
		if got := s.voltages(&phaseVolts{}, 0); got != want {
			t.Errorf("%d voltages in the falls tell: %v", n, got)
		}
	}
}

// A control unit that tells its voltage once a phase, in tenths, tells a battery that is charged in the falls as well.
func TestVoltagesOfOneValueAPhase(t *testing.T) {
	v := &phaseVolts{}
	for i := range 8 {
		flicker := 0.1 * float64(i%2)
		for group, volts := range []float64{14.0, 14.0, 14.0, 14.5} {
			v.add(group, []float64{volts + flicker})
		}
	}
	higher, sd, ok := v.fallsAboveHolds()
	if !ok || higher[0] < -0.05 || higher[0] > 0.05 || higher[1] < 0.45 || higher[1] > 0.55 || sd < 0.01 || sd > 0.1 {
		t.Errorf("%v, known to %.3f", higher, sd)
	}
}

// A consumer that pulls the voltage of one side's falls down by five times what the means are known to is there, and the
// falls are not compared; by twice that it may be chance.
func TestHowSureAConsumerIs(t *testing.T) {
	side := func(lower float64) *Side {
		s := &Side{falls: map[int]*fallFacts{0: {}}}
		for i := range 10 {
			flicker := 0.05 * float64(2*(i%2)-1)
			s.Holds = append(s.Holds, Hold{Used: true, volts: []float64{14 + flicker}})
			s.falls[0].volts = append(s.falls[0].volts, []float64{14 + flicker - lower})
		}
		return s
	}
	var v phaseVolts
	for k, s := range []*Side{side(0), side(0)} {
		s.voltages(&v, k)
	}
	_, sd, _ := v.fallsAboveHolds()
	for times, none := range map[float64]bool{2.3: false, 5: true} {
		c := &correction{sides: [2]*Side{side(0), side(times * sd)}, f: &Finding{}}
		c.fallVoltage()
		if len(c.f.Refusals) != 1 || (c.f.NoRatio != nil) != none {
			t.Errorf("lower by %.3f V, known to %.3f V: %v, no ratio %v", times*sd, sd, c.f.Refusals, c.f.NoRatio != nil)
		}
	}
}

// A throttle that shuts as before lets the manifold down to the same pressure. Values that scatter by 6 kPa tell a
// difference of four standard errors and none of two.
func TestHowSureAPressureIs(t *testing.T) {
	const scatter, n = 6.0, 40
	side := func(higher float64) *Side {
		s := &Side{falls: map[int]*fallFacts{0: {}}}
		for i := range n {
			at := 1 / (1.5 + 0.05*float64(i))
			s.falls[0].pressure = append(s.falls[0].pressure, [2]float64{at, 20 + 25*at + scatter*float64(2*(i%2)-1) + higher})
		}
		return s
	}
	se := scatter * math.Sqrt(2.0/n)
	for times, want := range map[float64]bool{2: false, 4: true} {
		c := &correction{sides: [2]*Side{side(0), side(times * se)}, f: &Finding{}}
		c.fallPressure()
		if got := len(c.f.Refusals) > 0; got != want {
			t.Errorf("higher by %.1f kPa, known to %.1f kPa: %v", times*se, se, c.f.Refusals)
		}
	}
}
