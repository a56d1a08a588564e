package compare

import (
	"math"
	"strings"
	"testing"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/inertia"
	"flywitness/analysis/slip"
	"flywitness/drive"
)

// idling is a log of n stops of so many seconds at rest at an engine speed that goes up and down by 10 rpm, with a
// little driving between them.
func idling(n int, seconds, rpm float64) *drive.Log {
	e, v := &drive.Channel{Name: drive.EngineSpeed}, &drive.Channel{Name: drive.VehicleSpeed}
	t := 0.0
	for range n {
		for i := range int((seconds + 4) * 5) {
			kmh, x := 0.0, rpm
			if float64(i)/5 >= seconds {
				kmh, x = 20, 2000
			}
			if i%2 == 0 {
				x += 20
			}
			e.T, e.V = append(e.T, t), append(e.V, x-10)
			v.T, v.V = append(v.T, t), append(v.V, kmh)
			t += 0.2
		}
	}
	return &drive.Log{Channels: []*drive.Channel{e, v}}
}

// An idle that swings by 10 rpm has a standard deviation of 10 rpm, over stops as traffic lights make them; a stop of
// three seconds is no idle yet, and a cold engine's fast idle is another one.
func TestIdleIsMeasuredAtStops(t *testing.T) {
	for name, c := range map[string]struct {
		log  *drive.Log
		want bool
	}{
		"eight seconds": {idling(4, 8, 850), true}, "three seconds": {idling(4, 3, 850), false},
		"fast idle": {idling(4, 8, 1350), false}, "a little fast": {idling(4, 8, 1000), true},
		"two stops": {idling(2, 8, 850), false},
	} {
		s := Side{Logs: []*drive.Log{c.log}, Inertia: &inertia.Finding{IdleRPM: 850}}
		e := s.idleSD()
		if (e != nil) != c.want || e != nil && math.Abs(e.Value-10) > 0.5 {
			t.Errorf("%s: %+v", name, e)
		}
	}
}

// restingFor is how many stretches of idling are read from values at these times.
func restingFor(at []float64) int {
	e, v := &drive.Channel{Name: drive.EngineSpeed, T: at}, &drive.Channel{Name: drive.VehicleSpeed, T: at, V: make([]float64, len(at))}
	for i := range at {
		e.V = append(e.V, 840+20*float64(i%2))
	}
	return len(idleStretches(&drive.Log{Channels: []*drive.Channel{e, v}}, 850))
}

// Ten values in eight seconds, on a slow link, show how idle swings, five do not. A value that was lost is bridged; a hole
// of six seconds is not, for in it the car may have been driven.
func TestIdleOnLinksWithHoles(t *testing.T) {
	every := func(step, from, to float64) (out []float64) {
		for x := from; x < to; x += step {
			out = append(out, x)
		}
		return out
	}
	for _, c := range []struct {
		what string
		at   []float64
		want int
	}{
		{"ten values", every(0.8, 0, 8), 1},
		{"five values", every(1.6, 0, 8), 0},
		{"a lost value", append(every(0.5, 0, 4), every(0.5, 6, 10)...), 1},
		{"a hole", append(every(0.5, 0, 4), every(0.5, 10, 14)...), 0},
	} {
		if got := restingFor(c.at); got != c.want {
			t.Errorf("%s: %d stretches, want %d", c.what, got, c.want)
		}
	}
}

// A shift between neighbouring gears takes 600 rpm off and more; 100 rpm are an engine that was let to its new speed by
// the foot.
func TestHowFarAnEngineFallsInAShift(t *testing.T) {
	for by, want := range map[float64]bool{600: true, 100: false} {
		c := &drive.Channel{Name: drive.EngineSpeed}
		for x := 0.0; x < 1; x += 0.05 {
			c.T, c.V = append(c.T, x), append(c.V, 3000-math.Min(by, 2000*x))
		}
		if rate, ok := steepestFall(c, 0, 1); ok != want {
			t.Errorf("a fall by %.0f rpm: %.0f rpm/s, %v", by, rate, ok)
		}
	}
}

// shifting is n shifts from second to third gear in which the clutch is open for so many seconds; engine speed falls
// by 2000 rpm each second, 1400 rpm in all.
func shifting(n int, open float64) Side {
	c := &drive.Channel{Name: drive.EngineSpeed}
	track := &gearstate.Track{}
	for i := range n {
		start := float64(i) * 20
		track.Segments = append(track.Segments, gearstate.Segment{Start: start, End: start + 5, Gear: 2,
			Clutch: gearstate.Locked},
			gearstate.Segment{Start: start + 5, End: start + 5 + open, Clutch: gearstate.Open},
			gearstate.Segment{Start: start + 5 + open, End: start + 20, Gear: 3, Clutch: gearstate.Locked})
		for t := 0.0; t < 20; t += 0.1 {
			c.T, c.V = append(c.T, start+t), append(c.V, 4000+200*(t-5)-2200*math.Min(0.7, math.Max(0, t-5)))
		}
	}
	return Side{Logs: []*drive.Log{{Channels: []*drive.Channel{c}}}, Tracks: []*gearstate.Track{track}}
}

// A shift takes up to a second or two; five seconds out of gear are a driver who rolls. Three shifts have a mean, two
// do not.
func TestShiftsAreToldFromRolling(t *testing.T) {
	for name, c := range map[string]struct {
		side Side
		want bool
	}{"three shifts": {shifting(3, 0.8), true}, "two shifts": {shifting(2, 0.8), false}, "rolling": {shifting(3,
		5), false}} {
		e := c.side.shiftFall()
		if (e != nil) != c.want || e != nil && math.Abs(e.Value-2000) > 100 {
			t.Errorf("%s: %+v", name, e)
		}
	}
}

// An engine that stays at 4000 rpm for half a second before it falls by 2000 rpm/s falls by 2000 rpm/s: what it stays
// is no part of the fall.
func TestAFallBeginsWhereEngineSpeedLeavesItsTop(t *testing.T) {
	c := &drive.Channel{Name: drive.EngineSpeed}
	for t := 0.0; t < 1.5; t += 0.1 {
		c.T, c.V = append(c.T, t), append(c.V, 4000-2000*math.Min(0.7, math.Max(0, t-0.5)))
	}
	if rate, ok := steepestFall(c, 0, 1.5); !ok || math.Abs(rate-2000) > 1 {
		t.Errorf("%.0f rpm/s", rate)
	}
}

// Launches of 1.0, 1.2 and 1.4 s take 1.2 s in the mean; two have none. What cannot be had says why, by the
// name of the result.
func TestLaunchesAndReasons(t *testing.T) {
	launches := func(seconds ...float64) *slip.Finding {
		f := &slip.Finding{Engagements: []slip.Engagement{{Kind: "upshift", Duration: 9}}}
		for _, x := range seconds {
			f.Engagements = append(f.Engagements, slip.Engagement{Kind: "launch", Duration: x})
		}
		return f
	}
	log := []*drive.Log{idling(4, 8, 850)}
	c := &comparison{finding: &Finding{}, before: Side{Logs: log, Slip: launches(1.0, 1.2, 1.4),
		Inertia: &inertia.Finding{IdleRPM: 850}},
		after: Side{Logs: log, Slip: launches(1.0, 1.2)}}
	c.drivability()
	d := c.finding.Drivability
	if d.LaunchBefore == nil || math.Abs(d.LaunchBefore.Value-1.2) > 1e-9 || d.LaunchAfter != nil ||
		d.IdleSDBefore == nil {
		t.Errorf("%+v", d)
	}
	for name, want := range map[string]string{"launch_s_after": "three times of setting off",
		"idle_sd_rpm_after":           "at which speed the engine idles",
		"shift_rev_fall_rpm_s_before": "three upshifts", "shift_rev_fall_rpm_s_after": "three upshifts",
		"launch_s_before": "", "idle_sd_rpm_before": ""} {
		if got := d.Reasons[name]; !strings.Contains(got, want) || (want == "") != (got == "") {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
	c = &comparison{finding: &Finding{}, before: Side{Logs: log, Inertia: &inertia.Finding{IdleRPM: 850}}}
	c.drivability()
	if got := c.finding.Drivability.Reasons; got["launch_s_after"] != "this side has no logs" || len(got) != 5 {
		t.Errorf("one side: %v", got)
	}
}
