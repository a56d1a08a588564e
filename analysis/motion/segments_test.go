package motion

import (
	"math"
	"testing"

	"flywitness/analysis/gearstate"
)

// piecesOf are the pieces of a hand-made track.
func piecesOf(tr *gearstate.Track) []piece { return New(0, tr).pieces(0, NewForce(handCar(), false)) }

// Steady driving is cut into pieces of a second, away from a change of gear, fast enough, and under load.
func TestPiecesOfDriving(t *testing.T) {
	in := func(v, load float64, gear int) *gearstate.Track {
		return track(v, leg{s: 10, gear: gear, load: load, clutch: locked})
	}
	for _, c := range []struct {
		what string
		tr   *gearstate.Track
		want int
	}{
		{"ten seconds, 0.6 off each end: eight, and one of 0.75 s", in(60, 0.7, 3), 9},
		{"at 40 km/h", in(40, 0.4, 3), 9},
		{"at 15 km/h", in(15, 0.4, 2), 0},
		{"at 0.4 of load", in(60, 0.4, 3), 9},
		{"at a closed throttle", in(60, 0.05, 3), 0},
		{"in first gear", in(30, 0.7, 1), 0},
		// 0.7 s off each end leave 6.6 s: two of three seconds
		{"eight seconds in neutral", track(60, leg{s: 8, a: -0.8, clutch: open, rpm: 850}), 2},
		{"four seconds in neutral", track(60, leg{s: 4, a: -0.8, clutch: open, rpm: 850}), 0},
		{"with the engine at work", track(60, leg{s: 8, a: -0.8, clutch: open, rpm: 3000}), 0},
		{"with the engine held at 1400 rpm", track(60, leg{s: 8, a: -0.8, clutch: open, rpm: 1400}), 0},
		{"up 5 %", track(90, leg{s: 8, a: -2.6, clutch: open, rpm: 850}), 2},
		{"braked lightly, by 1.1 m/s^2", track(90, leg{s: 8, a: -4, clutch: open, rpm: 850}), 0},
		{"braked", track(90, leg{s: 8, a: -8, clutch: open, rpm: 850}), 0},
		{"rolling out at 15 km/h", track(17, leg{s: 8, a: -0.2, clutch: open, rpm: 850}), 0},
	} {
		if got := piecesOf(c.tr); len(got) != c.want {
			t.Errorf("%s: %d pieces, want %d", c.what, len(got), c.want)
		}
	}
}

// On a link of a value in 0.6 s three values make a piece: ten seconds in third are five or more.
func TestPiecesOnASlowLink(t *testing.T) {
	got := piecesOf(trackEvery(0.6, 60, leg{s: 10.8, gear: 3, load: 0.7, clutch: locked}))
	if len(got) < 5 {
		t.Errorf("%d pieces", len(got))
	}
	for _, p := range got {
		if p.length < 1.2-1e-9 {
			t.Errorf("a piece of %.1f s is of two values", p.length)
		}
	}
}

// A gear is held for two seconds in town. In its middle the engine tells road speed; close to either end, where the label
// may be late, it does not.
func TestWhereTheEngineTellsRoadSpeed(t *testing.T) {
	r := New(0, track(40, leg{s: 1, clutch: open, rpm: 1500}, leg{s: 2, gear: 2, load: 0.7, clutch: locked}, leg{s: 1, clutch: open, rpm: 1500}))
	m := r.measurements(0, r.Track.Len(), nil)
	for at, want := range map[float64]bool{0.5: false, 1.2: false, 2: true, 2.8: false} {
		if got := m(int(at*20)).engnR > 0; got != want {
			t.Errorf("%.1f s: the engine tells road speed %v", at, got)
		}
	}
}

// A piece holds one load: a foot on its way cuts it.
func TestPiecesHoldOneLoad(t *testing.T) {
	var legs []leg
	for range 10 {
		legs = append(legs, leg{s: 0.6, gear: 3, load: 0.3, clutch: locked}, leg{s: 0.6, gear: 3, load: 0.9, clutch: locked})
	}
	all := piecesOf(track(60, legs...))
	for _, p := range all {
		if math.Abs(p.load-0.3) > 0.01 && math.Abs(p.load-0.9) > 0.01 {
			t.Errorf("a piece at load %.2f", p.load)
		}
	}
	if len(all) < 10 {
		t.Errorf("%d pieces", len(all))
	}
}

// The balance of a piece by hand, third gear, 1 m/s^2 at a mean of 20 m/s: arm 0.3/(5.6*0.95) = 0.05639 m, the
// engine's 0.2 kg m^2 as mass 0.2/(0.95*0.05639^2) = 66.2 kg; (1240 + 66.2) * 1 + 120 + 0.4 * 400 = 1586.2 N over
// 11768 N: 0.1348. Its error: 0.002 of gusts and more; in neutral the steps of road speed, 0.25 of 1 km/h at
// either end: 1240 * sqrt(2*0.01^2 + 2*0.25^2)/3.6/3 s over 11768 N = 0.00345.
func TestBalanceOfAPieceByHand(t *testing.T) {
	all := piecesOf(track(72-3.6*3, leg{s: 6, a: 3.6, gear: 3, load: 1, clutch: locked}))
	p := all[2]
	want := (1306.2 + 120 + 0.4*p.v*p.v) / 11767.98
	near(t, "pull", p.pull, want, 0.002)
	near(t, "pull at 20 m/s", want, 0.1348, 0.003)
	f := NewForce(handCar(), false)
	tr := track(60, leg{s: 5, gear: 3, load: 1, clutch: locked})
	tr.Model.Step = 1
	r := New(0, tr)
	for i := range r.Track.Len() {
		*r.State(i) = State{V: 60, VarV: 1e-4}
	}
	near(t, "error in gear", r.piece(0, 61, f.Mass, f).sd, math.Hypot(0.002, 0.000138), 1e-5)
	tr.Gear[0] = 0
	near(t, "error in neutral", r.piece(0, 61, f.Mass, f).sd, math.Hypot(0.002, 0.00345), 2e-5)
}
