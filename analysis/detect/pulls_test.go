package detect

import "testing"

// pullsOf are the pulls of a record as start and end, s.
func pullsOf(h *handmade) (out [][2]float64) {
	r := h.record()
	for _, p := range r.findPulls() {
		out = append(out, [2]float64{r.Track.T[p.Lo], r.Track.T[p.Hi-1]})
	}
	return out
}

// What is a pull and what is none.
func TestPulls(t *testing.T) {
	easy := leg{s: 5, gear: 3, load: 0.2}
	for _, c := range []struct {
		what string
		h    *handmade
		want [][2]float64
	}{
		{"full load", at(60, 0.05).drive(easy, leg{s: 5, a: 4, gear: 3, load: 1}, easy), [][2]float64{{5, 9.95}}},
		{"half load", at(60, 0.05).drive(easy, leg{s: 5, a: 2, gear: 3, load: 0.5}, easy), [][2]float64{{5, 9.95}}},
		{"light load", at(60, 0.05).drive(easy, leg{s: 5, a: 1, gear: 3, load: 0.3}, easy), nil},
		{"for two seconds", at(60, 0.05).drive(easy, leg{s: 2, a: 4, gear: 3, load: 1}, easy), [][2]float64{{5, 6.95}}},
		{"for one second", at(60, 0.05).drive(easy, leg{s: 1, a: 4, gear: 3, load: 1}, easy), nil},
		{"in walking pace", at(15, 0.05).drive(leg{s: 5, gear: 1, load: 0.2}, leg{s: 2, a: 2, gear: 1, load: 1}), nil},
		{"at 40 km/h", at(40, 0.05).drive(easy, leg{s: 5, a: 2, gear: 3, load: 1}), [][2]float64{{5, 9.95}}},
		{"a lapse of 0.3 s", at(60, 0.05).drive(leg{s: 3, a: 4, gear: 3, load: 1}, leg{s: 0.3, a: 4, gear: 3, load: 0},
			leg{s: 3, a: 4, gear: 3, load: 1}), [][2]float64{{0.6, 6.25}}},
		{"a lapse of a second", at(60, 0.05).drive(leg{s: 3, a: 4, gear: 3, load: 1}, leg{s: 1, a: 4, gear: 3, load: 0},
			leg{s: 3, a: 4, gear: 3, load: 1}),
			[][2]float64{{0.6, 2.95}, {4, 6.95}}},
		{"after a gear change", at(60, 0.05).drive(leg{s: 2, rpm: 3000}, leg{s: 5, a: 4, gear: 3, load: 1}),
			[][2]float64{{2.6, 6.95}}},
		{"before a gear change", at(60, 0.05).drive(easy, leg{s: 5, a: 4, gear: 3, load: 1}, leg{s: 2, rpm: 3000}),
			[][2]float64{{5, 9.35}}},
		{"braked against the engine", at(100, 0.05).drive(easy, leg{s: 5, a: -6, gear: 3, load: 1}), nil},
		// (3/3.6 + 0.11 + 0.08)/9.81 = 0.104 of weight
		{"without a load channel", at(60, 0.05).drive(leg{s: 5, gear: 3, load: nan}, leg{s: 5, a: 3, gear: 3, load: nan}),
			[][2]float64{{4.9, 9.95}}},
		{"without a load channel, rolling on", at(60, 0.05).drive(leg{s: 10, gear: 3, load: nan}), nil},
	} {
		got := pullsOf(c.h)
		if len(got) != len(c.want) {
			t.Errorf("%s: %v, want %v", c.what, got, c.want)
			continue
		}
		for i := range got {
			near(t, c.what+": start", got[i][0], c.want[i][0], 0.15)
			near(t, c.what+": end", got[i][1], c.want[i][1], 0.15)
		}
	}
}

// Two seconds of a pull after its last departure are what the clutch holds afterwards; what follows within a second tells
// nothing.
func TestRestOfAPull(t *testing.T) {
	for _, c := range []struct {
		left float64 // s
		ok   bool
	}{{2, true}, {1, false}} {
		r, p := pullOf(t, at(60, 0.05).drive(leg{s: 10, a: 2, gear: 3, load: 1}))
		d := departure(r, 5, 10-c.left)
		p.Departures = []Departure{*d}
		rest, ok := r.Rest(p)
		if ok != c.ok || ok && (r.Track.T[rest.Lo] <= d.End || rest.Hi != p.Hi) {
			t.Errorf("%.0f s left: %v, from %.2f s", c.left, ok, r.Track.T[rest.Lo])
		}
	}
}
