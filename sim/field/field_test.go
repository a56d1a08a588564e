package field

import (
	"reflect"
	"slices"
	"testing"

	"flywitness/sim"
)

// named returns classes by name.
func named(t *testing.T, names ...string) (out []Class) {
	t.Helper()
	all := Classes()
	for _, n := range names {
		i := slices.IndexFunc(all, func(c Class) bool { return c.Name == n })
		if i < 0 {
			t.Fatalf("no class %s", n)
		}
		out = append(out, all[i])
	}
	return out
}

// A case depends on its class, seed and side alone, whichever class of the group made the drives.
func TestCasesRepeat(t *testing.T) {
	for _, c := range named(t, "ordinary/2min/full/load/can", "road/bends/nofile", "written/seconds/full") {
		a, b := c.Make(3, true), c.From(c.Drive(3, true))
		if !reflect.DeepEqual(a.Logs, b.Logs) || !reflect.DeepEqual(a.Texts, b.Texts) || !reflect.DeepEqual(a.Vehicle, b.Vehicle) {
			t.Errorf("%s: two makings differ", c.Name)
		}
		if other := c.Make(4, true); reflect.DeepEqual(a.Logs, other.Logs) && reflect.DeepEqual(a.Texts, other.Texts) {
			t.Errorf("%s: two seeds agree", c.Name)
		}
	}
}

// Names are told once, and every class says what it is.
func TestClassesAreNamed(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range Classes() {
		if seen[c.Name] || c.Describe == "" || c.Family == "" || c.group == "" {
			t.Errorf("class %q twice, or without description, family or group", c.Name)
		}
		seen[c.Name] = true
	}
}

// A sound clutch slips nowhere with the foot off its pedal, whatever the car, the road and the driver; a weak one
// that qualifies did.
func TestTruthOfTheSides(t *testing.T) {
	for _, c := range named(t, "ordinary/2min/full/load/can", "box/dual/nofile", "road/spin/full", "piece/20-40s/full", "slip/film/full") {
		if !c.WeakOnly {
			k := c.Make(1, true)
			if n := len(slips(k.Truths)); n > 0 || k.Qualified {
				t.Errorf("%s: %d slips of a sound clutch (qualified %v)", c.Name, n, k.Qualified)
			}
			if len(k.Logs)+len(k.Texts) != len(k.Truths) {
				t.Errorf("%s: %d logs and %d texts of %d drives", c.Name, len(k.Logs), len(k.Texts), len(k.Truths))
			}
		}
		if c.SoundOnly {
			continue
		}
		if k := c.Make(2, false); k.Qualified && len(slips(k.Truths)) == 0 {
			t.Errorf("%s: qualified without a slip", c.Name)
		}
	}
}

// The asked size is counted on the slip itself: by its size, its time, the accelerator, and what came before it.
func TestAsked(t *testing.T) {
	c := anyCar(source("asked", 1, true))
	c.Clutch.Capacity *= 3
	tr := sim.Drive(c, sim.LevelRoad(), []sim.Action{sim.Pull(3, 1800, 4200), sim.Cruise(60, 20)}, source("asked", 2, true))
	p := pulls(tr, 90, 2)
	if len(p) == 0 {
		t.Fatal("no pull")
	}
	for _, want := range []struct {
		at, dur, pct float64
		ok           bool
	}{
		{p[0][0] + 0.2, 3.4, 4, true}, {p[0][0] + 0.2, 1.9, 4, false}, {p[0][0] + 0.2, 3.4, 2.5, false}, {tr.Duration() - 10, 5, 8, false},
	} {
		if want.at+want.dur > p[0][1] && want.ok {
			t.Fatalf("the pull is too short: %v", p[0])
		}
		again := sim.Drive(c, sim.LevelRoad(), []sim.Action{sim.Pull(3, 1800, 4200), sim.Cruise(60, 20)}, source("asked", 2, true))
		again.InjectSlip(want.at, want.dur, want.pct)
		if got := quick.qualifies([]*sim.Truth{again}, false); got != want.ok {
			t.Errorf("%.1f %% for %.1f s at %.1f s: qualifies %v", want.pct, want.dur, want.at, got)
		}
	}
}
