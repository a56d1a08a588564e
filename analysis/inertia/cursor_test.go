package inertia

import (
	"math/rand/v2"
	"slices"
	"sort"
	"testing"

	"flywitness/drive"
)

// A cursor finds what a search finds, wherever it was before.
func TestCursorFindsWhatASearchFinds(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	s := &series{}
	for at := 0.0; len(s.t) < 200; at += float64(rng.IntN(3)) {
		s.t = append(s.t, at)
	}
	c := &cursor{series: s}
	for k := range 2000 {
		at := float64(k%220) - 5 + 0.5*float64(rng.IntN(3))
		if k%17 == 0 {
			at = 250 * rng.Float64()
		}
		if got, want := c.place(at), sort.SearchFloat64s(s.t, at); got != want {
			t.Fatalf("at %g: %d, want %d", at, got, want)
		}
	}
}

// Values that arrived late stand where their times say.
func TestEngineSpeedIsInOrder(t *testing.T) {
	c := &drive.Channel{Name: drive.EngineSpeed}
	for i := range 100 {
		c.T, c.V = append(c.T, float64(i)/10), append(c.V, 900+float64(i))
	}
	late := &drive.Channel{Name: c.Name, T: slices.Clone(c.T), V: slices.Clone(c.V)}
	for i := 3; i < 100; i += 10 {
		late.T[i], late.T[i+2], late.V[i], late.V[i+2] = late.T[i+2], late.T[i], late.V[i+2], late.V[i]
	}
	want := observe(0, 0, &drive.Log{Channels: []*drive.Channel{c}}, nil)
	got := observe(0, 0, &drive.Log{Channels: []*drive.Channel{late}}, nil)
	if !slices.Equal(got.t, want.t) || !slices.Equal(got.n, want.n) {
		t.Errorf("%v", got.t)
	}
}
