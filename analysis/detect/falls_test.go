package detect

import (
	"testing"

	"flywitness/analysis/gearstate"
)

// A change down from third at 60 km/h, where third turns 2760 rpm and second 4200. By hand, of one change of one kind:
// by design 0.95/20+0.05/2 fall, by hand 1/2; of three that all fall 0.95 (1/20)(2/21)(3/22)+0.05/4 and 1/4; of none of
// three 0.95 19/22+0.05/4 and 1/4.
// Outside: three drives of a real six-speed manual car, ten values polled in turn, each
// fresh every 0.9 s (Automotive OBD-II Dataset, Karlsruhe Institute of Technology, doi 10.35097/1130): of 48 changes
// down with a value in them the engine fell by more than a tenth in 39. That a converter holds an
// engine within a tenth of its car's speed on the overrun: common practice, no source.
func TestEngineFallsWhereGearsAreChangedByHand(t *testing.T) {
	down := func(h *handmade, rpm, out float64) {
		h.v = 60
		h.drive(leg{s: 3, gear: 3}, leg{s: out, rpm: rpm}, leg{s: 3, gear: 2}, leg{s: 4, rpm: 900})
	}
	for _, c := range []struct {
		what     string
		period   float64
		n        int
		rpm, out float64
		want     float64 // nats
	}{
		{"no change", 0.1, 0, 0, 0, 0},
		{"one that falls", 0.1, 1, 2000, 0.6, -1.931},
		{"three that fall", 0.1, 3, 2000, 0.6, -2.948}, // one ladder in twenty is none: never below -3
		{"one that hardly falls", 0.1, 1, 2600, 0.6, 0.618},
		{"one caught with the accelerator", 0.1, 1, 3600, 0.6, 0.618},
		{"three straight from one to the other", 0.1, 3, 3600, 0.6, 1}, // ln(0.833/0.25) = 1.2, no more than rideCap
		{"no value in it", 0.1, 1, 0, 0, 0},
		{"road speed alone", 0.1, 1, nan, 0.6, 0},
		{"a long time in neutral", 0.1, 1, 900, 3, 0},
		{"seldom values", 0.9, 1, 2000, 1.8, -1.931},
	} {
		h := at(60, c.period)
		for range c.n {
			down(h, c.rpm, c.out)
		}
		near(t, c.what, fallOdds([]*Record{h.record()}), c.want, 0.01)
	}
	idles := at(60, 0.1)
	idles.Model.Idle = 2200 // third turns 2760 rpm at 60 km/h
	down(idles, 2200, 0.6)
	near(t, "near idle", fallOdds([]*Record{idles.record()}), 0, 1e-9)
	up := at(60, 0.1).drive(leg{s: 3, gear: 2}, leg{s: 0.6, rpm: 2000}, leg{s: 3, gear: 3}).record()
	near(t, "a change up", fallOdds([]*Record{up}), 0, 1e-9)
}

// A car is braked from 96 km/h by 12 a second, a value every 1.2 s, and driven on. Of its speed between two values 75 km/h
// are told, where third turns 3450 rpm; an engine that stays tied to third is slowed as before, from 46 times 81.6 to 46
// times 67.2, 3091 rpm, and did not fall. By hand it falls to 2000.
func TestEngineThatSlowsWithItsCarDoesNotFall(t *testing.T) {
	for _, c := range []struct {
		rpm, fell float64
	}{{3050, 0}, {2850, 0}, {2000, 1}} {
		h := at(96, 1.2).drive(leg{s: 3.6, gear: 3}, leg{s: 2.4, a: -12, gear: 3}, leg{s: 1.2, rpm: c.rpm}, leg{s: 3.6, a: 5, gear: 2})
		r := h.record()
		r.State(r.Runs[0].Hi).V = 75
		if fell, all := r.falls(); fell != c.fell || all != 1 {
			t.Errorf("%.0f rpm: %.0f of %.0f fell", c.rpm, fell, all)
		}
	}
	// over half a second and more: the last value of a quick link may be one of the fall
	h := at(60, 0.1).drive(leg{s: 3, gear: 3})
	h.add(leg{gear: 3, slip: constant(-0.08), clutch: gearstate.Locked}, 0)
	h.drive(leg{s: 0.5, rpm: 2150}, leg{s: 3, gear: 2})
	if fell, all := h.record().falls(); fell != 1 || all != 1 {
		t.Errorf("%.0f of %.0f fell", fell, all)
	}
}
