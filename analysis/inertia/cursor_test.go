package inertia

import (
	"math/rand/v2"
	"sort"
	"testing"
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

// Where times step back, a cursor finds what a search finds as well.
func TestCursorSearchesMixedTimes(t *testing.T) {
	s := &preparedLog{t: []float64{0, 1, 5, 3, 4, 2, 6, 7, 9, 8}, n: make([]float64, 10)}
	c := s.engine()
	for at := 0.5; at < 10; at += 0.5 {
		if got, want := c.place(at), sort.SearchFloat64s(s.t, at); got != want {
			t.Errorf("at %g: %d, want %d", at, got, want)
		}
	}
}
