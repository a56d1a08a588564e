package plan

import (
	"testing"

	"flywitness/analysis/compare"
	"flywitness/vehicle"
)

// A big change needs few free revs, yet one is lost to a slip of the foot and five are recommended; a small one
// needs hundreds, yet nobody revs an engine more than a dozen or so times at a sitting: further sessions tell more.
func TestASessionHasNeitherTooFewRunsNorTooMany(t *testing.T) {
	if n := Make(nil, Question{Change: 1}).RunsPerSession; n < 5 || n > 8 {
		t.Errorf("%d runs a session for twice the inertia", n)
	}
	if n := Make(nil, Question{Change: 0.02}).RunsPerSession; n < 10 || n > 20 {
		t.Errorf("%d runs a session for 2 %%", n)
	}
}

// With one session a side and no checklist a change below about 15 % cannot be told (common practice, no source),
// however well the link samples.
func TestOneSessionWithoutChecklist(t *testing.T) {
	for _, l := range Make(nil, Question{}).Links[1:] {
		if c := l.BySessions[0].ChangePct; c < 12 || c > 20 {
			t.Errorf("%s: one session a side shows %.1f %%, usual is about 15 %%", l.Name, c)
		}
	}
}

// What nobody drives is no plan. By hand with n = 2 (2.802 sd / ln(1 + change))^2: at 3.5 % from run to run a
// change of 0.3 % takes 2 x (2.802 x 0.035 / 0.0029955)^2 = 2144 runs; at 4 % from session to session 2 % takes
// (2.802 / 0.0198)^2 x 2 x 0.0016 = 64 sessions.
func TestWhatNobodyDrivesIsNoPlan(t *testing.T) {
	if n, ok := runsNeeded(0.003, Scatter{0.0316, 0.015}); ok {
		t.Errorf("%d free revs a side", n)
	}
	if n, ok := runsNeeded(0.01, Scatter{0.0316, 0.015}); !ok || n < 180 || n > 210 { // 194
		t.Errorf("%d free revs a side for 1 %%, %v", n, ok)
	}
	if m, ok := sessionsNeeded(0.02, 12, Scatter{0.0028, 0.015}, compare.SessionSpread(false, false)); ok {
		t.Errorf("%d sessions a side", m)
	}
	// (2.802/0.0392)^2 x 2 x 0.00162 = 16.5
	if m, ok := sessionsNeeded(0.04, 12, Scatter{0.0028, 0.015}, compare.SessionSpread(false, false)); !ok || m < 15 || m > 20 {
		t.Errorf("%d sessions a side for 4 %%, %v", m, ok)
	}
}

// A change that stands in the list of usual ones is not listed twice.
func TestNeedsAreListedOnce(t *testing.T) {
	for change, want := range map[float64]int{0.10: 4, 0.07: 5} {
		if n := len(Make(nil, Question{Change: change}).Links[0].Needs); n != want {
			t.Errorf("%g: %d needs, want %d", change, n, want)
		}
	}
}

// A diesel has its torque peak near 2000 rpm (common practice, no source): the pull begins below and passes it.
func TestPullOfADiesel(t *testing.T) {
	v := mule(t, "")
	v.Engine.Fuel, v.Engine.LimitRPM = "diesel", 4600
	p, why := planPull(v, Road{SpeedLimit: 100 / 3.6})
	if p == nil || p.FromRPM > 1500 || p.ToRPM < 2200 {
		t.Errorf("%+v %s", p, why)
	}
}

// The road before and after a pull from 13.1 to 27.8 m/s: 3 s of settling take 39 m, and a gentle stop at 3 m/s^2
// takes 27.8^2/6 = 129 m.
func TestRoadAroundAPull(t *testing.T) {
	p, why := planPull(mule(t, ""), Road{SpeedLimit: 100 / 3.6, Torque: 240})
	if p == nil {
		t.Fatal(why)
	}
	around := p.RoadM - p.Seconds*(p.FromKmh+p.ToKmh)/2/3.6
	if around < 150 || around > 190 {
		t.Errorf("%.0f m around the pull, by hand about 168", around)
	}
}

// The peak torque of the vehicle file tells the pull of this engine: over the pull it gives nine tenths of it. What is
// told beside it counts more.
func TestPeakTorqueOfTheFile(t *testing.T) {
	v := mule(t, "")
	v.Engine.PeakTorque = 200
	filed, _ := planPull(v, Road{SpeedLimit: 100 / 3.6})
	same, _ := planPull(v, Road{SpeedLimit: 100 / 3.6, Torque: 180})
	told, _ := planPull(v, Road{SpeedLimit: 100 / 3.6, Torque: 240})
	if filed == nil || same == nil || told == nil || *filed != *same || filed.Assumed || told.Seconds >= filed.Seconds {
		t.Errorf("%+v %+v %+v", filed, same, told)
	}
}

// Where the torque is not told the road must be long enough for a weak engine: the smallest in a car of 1285 kg has
// some 110 N m, an ordinary one 150 (common practice, no source).
func TestUntoldTorqueIsAWeakEngines(t *testing.T) {
	v := mule(t, "")
	untold, _ := planPull(v, Road{SpeedLimit: 100 / 3.6})
	ordinary, _ := planPull(v, Road{SpeedLimit: 100 / 3.6, Torque: 150})
	weakest, _ := planPull(v, Road{SpeedLimit: 100 / 3.6, Torque: 90})
	if untold == nil || ordinary == nil || weakest == nil || untold.Seconds <= ordinary.Seconds ||
		untold.Seconds >= weakest.Seconds {
		t.Errorf("%+v %+v %+v", untold, ordinary, weakest)
	}
}

// Free revs stay below the rev limit, and the speeds of the holds follow the window that is left: by hand, with a limit of
// 3800 rpm, revs to 3300 and falls from 2800 to 1500 rpm, whose geometric middle is 2049 rpm. The vehicle file alone
// tells them, so both sides are asked for the same.
func TestHoldsFollowTheRevLimit(t *testing.T) {
	for _, row := range []struct{ limit, revTo, low, high float64 }{
		{0, 4000, 2150, 3000}, {7000, 4000, 2150, 3000}, {3800, 3300, 1900, 2650}, {2400, 1900, 1150, 1650}} {
		v := &vehicle.Vehicle{Engine: vehicle.Engine{LimitRPM: row.limit}}
		if d := On(v, Road{}); d.RevToRPM != row.revTo || d.HoldsRPM != [2]float64{row.low, row.high} {
			t.Errorf("limit %.0f rpm: revs to %.0f, holds at %.0f", row.limit, d.RevToRPM, d.HoldsRPM)
		}
		if f := Make(v, Question{}); f.RevToRPM != row.revTo || f.HoldsRPM != [2]float64{row.low, row.high} {
			t.Errorf("limit %.0f rpm: the plan revs to %.0f, holds at %.0f", row.limit, f.RevToRPM, f.HoldsRPM)
		}
	}
}
