package motion

import (
	"testing"

	"flywitness/drive"
)

// By hand: a foot is on the pedal from 2 to 4 s, from 6 to 7 s and from 9 s on.
func TestClutchSwitchByHand(t *testing.T) {
	r := &Record{}
	r.TakeClutchSwitch(&drive.Log{})
	if r.ClutchSwitch != nil {
		t.Error("a switch of no channel")
	}
	r.TakeClutchSwitch(&drive.Log{Channels: []*drive.Channel{{Name: drive.ClutchSwitch,
		T: []float64{1, 2, 3, 4, 5, 6, 7, 8, 9}, V: []float64{0, 1, 0.3, 0.05, 0, 1, 0, 0, 1}}}})
	s := r.ClutchSwitch
	for _, c := range []struct{ from, to, pressed, released, inverted float64 }{
		{0, 1, 0, 1, 0}, {0, 3, 1, 2, 1}, {2.5, 3.5, 1, 0, 0}, {1, 9, 3, 2, 5}, {4, 6, 0, 2, 2}, {3, 20, 13, 2, 4},
	} {
		near(t, "pressed", s.Pressed(c.from, c.to), c.pressed, 1e-12)
		near(t, "released", s.Released(c.from, c.to), c.released, 1e-12)
		near(t, "the wrong way round", s.Inverted().Pressed(c.from, c.to), c.inverted, 1e-12)
	}
	for at, want := range map[float64]bool{0: false, 1.9: false, 2: true, 3.9: true, 4: false, 6.5: true, 30: true} {
		if s.At(at) != want || at >= 1 && s.Inverted().At(at) == want {
			t.Errorf("at %g: a foot %v, the wrong way round %v", at, s.At(at), s.Inverted().At(at))
		}
	}
}
