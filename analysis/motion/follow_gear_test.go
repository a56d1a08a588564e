package motion

import (
	"math"
	"slices"
	"testing"
)

// An engine that runs away while the foot stays down, and comes back to the same gear, was never out of it. A
// lift, another gear, or a clutch that holds long after the lift tells a gear change.
func TestFootThatStaysDownChangesNoGear(t *testing.T) {
	before := leg{s: 4, a: 6, load: 1, gear: 3, clutch: locked}
	slides := leg{s: 1, a: 6, load: 1, gear: 3, clutch: slipping, times: 1.1}
	away := leg{s: 1.5, load: 1, clutch: open, as: 3, times: 1.6}
	again := leg{s: 3, a: 6, load: 1, gear: 3, clutch: locked}
	asSecond := leg{s: 1.2, load: 1, gear: 2, clutch: locked}
	falls := func(load float64) leg { return leg{s: 1, load: load, clutch: open, rpm: 900} }
	for _, c := range []struct {
		what string
		legs []leg
		want bool
	}{
		{"the foot stays down", []leg{before, away, again}, true},
		{"half load", []leg{before, {s: 1.5, load: 0.6, clutch: open, as: 3, times: 1.6}, again}, true},
		{"a lift of 0.7 s", []leg{before, {s: 0.7, load: 0, clutch: open, as: 3, times: 1.3}, again}, false},
		{"it looks like second for a second", []leg{before, {s: 0.3, load: 1, clutch: open, as: 3, times: 1.3}, asSecond,
			{s: 0.3, load: 1, clutch: open, as: 3, times: 1.3}, again}, false},
		{"it looks like second, the car pushed on before", []leg{before, slides, {s: 0.3, load: 1, clutch: open, as: 3,
			times: 1.3}, asSecond, {s: 0.3, load: 1, clutch: open, as: 3, times: 1.3}, again}, true},
		{"a lift, and the clutch holds four seconds later", []leg{before, away, {s: 4, load: 0, clutch: open, as: 3,
			times: 1.3}, again}, false},
		{"a lift, and the clutch holds a second later", []leg{before, away, {s: 1, load: 0, clutch: open, as: 3,
			times: 1.3}, again}, true},
		{"it looks like second until the lift, and falls at once", []leg{before, slides, asSecond, falls(0)}, true},
		{"the engine runs up until the lift, and falls at once", []leg{before, slides, {s: 1.2, load: 1, clutch: open, as: 3,
			times: 1.6}, falls(0)}, false},
		{"the same, the car not pushed on before", []leg{before, asSecond, falls(0)}, false},
		{"no engine speed as the foot comes up", []leg{before, slides, asSecond, {s: 1, clutch: open, rpm: math.NaN()}}, false},
		{"it looks like second, and falls with the foot down", []leg{before, slides, asSecond, falls(1)}, false},
		{"the engine falls below", []leg{before, {s: 1.5, load: 1, clutch: open, rpm: 900}, again}, false},
	} {
		tr := track(80, c.legs...)
		i := 4 * 20
		for tr.Clutch[i] == slipping {
			i++
		}
		out := followGear(tr, false)
		got := out.Gear[i+3] == 3 && out.Clutch[i+3] == slipping
		if got != c.want {
			t.Errorf("%s: slip in gear %v", c.what, got)
		}
		if tr.Gear[i] == 3 {
			t.Errorf("%s: the track given was changed", c.what)
		}
		if taken := followGear(tr, true); taken != tr || !slices.Equal(taken.Gear, out.Gear) || !slices.Equal(taken.Clutch, out.Clutch) ||
			!slices.EqualFunc(taken.Excess, out.Excess, func(a, b float64) bool { return a == b || a != a && b != b }) {
			t.Errorf("%s: a track that is taken is copied, or labelled otherwise", c.what)
		}
	}
}

// On a link of a value in 0.6 s a load that is low for an interval may be a foot that twitched; for three the foot is
// off. An engine that runs away meets another gear's speed in two such values, not in four.
func TestFootOnASlowLink(t *testing.T) {
	const every = 0.6
	before := leg{s: 7 * every, a: 6, load: 1, gear: 3, clutch: locked}
	away := leg{s: every, load: 1, clutch: open, as: 3, times: 1.3}
	low := func(n float64) leg { return leg{s: n * every, load: 0, clutch: open, as: 3, times: 1.3} }
	asSecond := func(n float64) leg { return leg{s: n * every, load: 1, gear: 2, clutch: locked} }
	for _, c := range []struct {
		what string
		legs []leg
		want bool
	}{
		{"two low values", []leg{before, low(2), before}, true},
		{"four low values", []leg{before, low(4), before}, false},
		{"as second twice", []leg{before, away, asSecond(2), away, before}, true},
		{"as second four times", []leg{before, away, asSecond(4), away, before}, false},
	} {
		out := followGear(trackEvery(every, 80, c.legs...), false)
		if got := out.Gear[8] == 3 && out.Clutch[8] == slipping; got != c.want {
			t.Errorf("%s: slip in gear %v", c.what, got)
		}
	}
}
