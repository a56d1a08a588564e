package compare

import (
	"strings"
	"testing"
	"time"

	"flywitness/analysis/inertia/testcar"
	"flywitness/analysis/promise"
	"flywitness/drive"
)

// Recordings that stand the wrong way round in time, and a rise after a lightening job, are said; a job in
// order is not doubted.
func TestSwappedSidesAreDoubted(t *testing.T) {
	rng := seeded(4, 9)
	side := func(inertia float64, day int) Side {
		s := revs(stand(inertia), 6, 4800, 0.01, 1, testcar.CANOne, rng)
		l := *s.Logs[0]
		if day > 0 {
			l.Created = time.Date(2026, 3, day, 9, 0, 0, 0, time.UTC)
		}
		s.Logs = []*drive.Log{&l}
		return s
	}
	lighter := &promise.Promise{Kind: promise.Mass, Amount: 100, Gear: 1}
	for _, c := range []struct {
		name          string
		before, after Side
		opt           Options
		says          string
	}{
		{"in order", side(0.22, 2), side(0.16, 26), Options{Claim: lighter}, ""},
		{"dates backwards", side(0.22, 26), side(0.16, 2), Options{}, "were made after those of the other side"},
		{"one date is missing", side(0.22, 26), side(0.16, 0), Options{}, ""},
		{"a rise that nobody promised against", side(0.16, 2), side(0.22, 26), Options{}, ""},
		{"a rise where less was promised", side(0.16, 2), side(0.22, 26), Options{Claim: lighter},
			"less was fitted or promised"},
		{"a rise where a lighter part was fitted", side(0.16, 0), side(0.22, 0),
			Options{Parts: []KnownPart{{Name: "flywheel", Before: 0.15, After: 0.09, ChangeSD: 0.02}}},
			"less was fitted or promised"},
	} {
		f, w := Compare(c.before, c.after, c.opt)
		if (f.SidesDoubt.String() == "") != (c.says == "") || !strings.Contains(f.SidesDoubt.String(), c.says) {
			t.Errorf("%s: %q (%s)", c.name, f.SidesDoubt, f.Verdict)
		}
		warned := false
		for _, x := range w {
			warned = warned || x.Code == "sides_swapped"
		}
		if warned != (c.says != "") {
			t.Errorf("%s: warnings %v", c.name, w)
		}
	}
}
