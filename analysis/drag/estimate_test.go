package drag

import "testing"

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
