package drag

import (
	"math"
	"testing"
)

// Two sittings of one day differ by no more than sittings of two days, in either meter, in the flow and in the drag.
func TestOneDayDiffersByNoMoreThanTwo(t *testing.T) {
	for _, f := range []flow{AirAndFuel, Air, Pressure, FuelRate} {
		for _, checklist := range []bool{false, true} {
			days, day := priorFor(f, Options{Checklist: checklist}), priorFor(f, Options{Checklist: checklist, SameDay: true})
			flow := func(p prior) float64 { return p.weigh(0, 0, 0).meters + p.engine*p.engine }
			if day.air > days.air || day.fuel > days.fuel || flow(day) > flow(days) || day.day > days.day || day.fall > days.fall {
				t.Errorf("%s, checklist %v: one day %+v, two %+v", f, checklist, day, days)
			}
		}
	}
}

// The flow of this engine goes with its speed to the power that both speeds show; what no engine does is not believed.
func TestExponentIsTheCarsOwn(t *testing.T) {
	for shown, want := range map[float64]float64{1.35: 1.35, 3: usualExponent, 0.2: usualExponent} {
		c := &correction{f: &Finding{SpeedsRPM: []float64{2500, 3500}}}
		for k := range c.sides {
			c.sides[k] = &Side{}
			for _, rpm := range c.f.SpeedsRPM {
				c.sides[k].Holds = append(c.sides[k].Holds, Hold{RPM: rpm, Used: true, air: &level{value: 0.5 + shown*math.Log(rpm)}})
			}
		}
		if got := c.exponent(); math.Abs(got-want) > 1e-9 {
			t.Errorf("%v where the holds show %v, want %v", got, shown, want)
		}
	}
}
