package detect

import (
	"math"
	"testing"
)

// recordWith is a record of departures, each with the nats by which slip beats its rivals.
func recordWith(departures ...Departure) *Record {
	return &Record{Pulls: []Pull{{Departures: departures}}}
}

// oddsAt is a departure of three seconds, by the odds of its slip.
func oddsAt(start, odds float64) Departure {
	d := Departure{Event: Event{Start: start, End: start + 3, Kind: KindCarriedMore}, Odds: odds}
	if odds >= Proven {
		d.Kind = KindSlip
	}
	return d
}

// Two slips prove a weak clutch, in one log or in two, and so does one that proves it alone. The same one seen from
// the stretch on either side of a lapse of load is one.
func TestWhatProvesSlip(t *testing.T) {
	sure := oddsAt(10, 4)
	sure.Alone = true
	for _, c := range []struct {
		what    string
		records []*Record
		want    bool
	}{
		{"none", []*Record{recordWith(oddsAt(10, 2), oddsAt(20, 2))}, false},
		{"one", []*Record{recordWith(oddsAt(10, 4))}, false},
		{"two", []*Record{recordWith(oddsAt(10, 4), oddsAt(20, 4))}, true},
		{"one in each of two logs", []*Record{recordWith(oddsAt(10, 4)), recordWith(oddsAt(10, 4))}, true},
		{"one seen twice", []*Record{recordWith(oddsAt(10, 4), oddsAt(12, 4))}, false},
		{"one that proves it alone", []*Record{recordWith(sure)}, true},
	} {
		for _, r := range c.records {
			r.findRepeats()
		}
		if got := Proved(c.records); got != c.want {
			t.Errorf("%s: %v", c.what, got)
		}
	}
}

// In a clutch that is proven to slip a departure is slip where that is likelier than not.
func TestSlipsAgain(t *testing.T) {
	r := recordWith(oddsAt(10, 4), oddsAt(20, 0.5), oddsAt(30, -0.5), oddsAt(40, math.Inf(-1)))
	SlipsAgain([]*Record{r})
	for i, want := range []Kind{KindSlip, KindSlip, KindCarriedMore, KindCarriedMore} {
		if got := r.Pulls[0].Departures[i].Kind; got != want {
			t.Errorf("departure %d: %s, not %s", i, got, want)
		}
	}
}
