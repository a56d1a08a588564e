package drag

import (
	"math"
	"slices"
	"testing"

	"flywitness/finding"
)

// idling is a side whose engine idled once with this flow (a logarithm) and oil (C).
func idling(flow, oil float64) *Side {
	return &Side{oil: map[int]float64{0: oil}, falls: map[int]*fallFacts{},
		idles: []Hold{{RPM: 800, Used: true, idle: true, air: &level{flow, 0.004}}}}
}

// An engine that idles at 800 rpm gives 2 kW, 24 N m, to itself; its falls are braked by 25 N m, 8 kW, in the middle
// (common practice, no source). What is a torque, as a belt that runs harder, is as much of either; what is a power, as a
// lamp, is a quarter of it in the falls. The idle's flow takes out a good part of the one and does not make too much of
// the other.
func TestIdleFlowOfTorquesAndPowers(t *testing.T) {
	for _, c := range []struct {
		what        string
		idle, falls float64 // N m more
		left        float64 // at most, of what it does to the falls
	}{
		{"a belt", 1.2, 1.2, 0.75},
		{"a lamp", 150 / 84.0, 150 / 314.0, 0.75},
	} {
		drag := math.Log1p(c.falls / 25)
		f := Correct(idling(0, 90), idling(math.Log1p(c.idle/24), 90), Falls{Session: [2][]int{{0}, {0}}, Ln: drag,
			Runs: 1e-6, DF: 10}, Options{IdleFlow: true})
		if f.Answer == nil || math.Abs(f.Answer.Ln) > c.left*drag {
			t.Errorf("%s: %+v of %.4f left, %v", c.what, f.Answer, drag, f.Refusals)
		}
	}
}

// A side whose engine did not idle is refused, and one that idled at another speed: with a compressor on, say.
func TestIdlesThatDoNotCompare(t *testing.T) {
	none, faster := idling(0, 90), idling(0, 90)
	none.idles, faster.idles[0].RPM = nil, 950
	for want, after := range map[finding.Code]*Side{finding.IdleMissing: none, finding.IdleSpeedDiffers: faster} {
		f := Correct(idling(0, 90), after, Falls{Session: [2][]int{{0}, {0}}, Runs: 1e-6, DF: 10}, Options{IdleFlow: true})
		if f.Answer != nil || !slices.ContainsFunc(f.Refusals, func(r finding.Finding) bool { return r.Code == want }) {
			t.Errorf("%s: %+v, %v", want, f.Answer, f.Refusals)
		}
	}
}

// What is a torque changes drag and idle's flow alike, what is a power the drag a quarter as much: two standard deviations
// and a half reach both, and one tells that it is neither none nor more.
func TestIdleAnswersTorqueOrPower(t *testing.T) {
	if most, least := 1.0, 0.25; idleAnswers+2.5*idleAnswersSD < most || idleAnswers-2.5*idleAnswersSD > least ||
		idleAnswers+idleAnswersSD > most || idleAnswers < idleAnswersSD {
		t.Errorf("%v +- %v, want some %v to %v", idleAnswers, idleAnswersSD, least, most)
	}
}

// At 90 C oil thins by 2.3 % a kelvin (5W-30), and its film's drag goes with the root of that. The film is an eighth to a
// quarter of what brakes a fall (from memory; Heywood, Internal Combustion Engine Fundamentals, chapter 13).
func TestDragOfWarmerOil(t *testing.T) {
	const thins = 0.023 / 2
	least, most := thins/8, thins/4
	if sd := (most - least) / 4; dragPerKSD > 2*sd || dragPerKSD < sd/2 || -dragPerK < least || -dragPerK > most {
		t.Errorf("%v +- %v, want %.4f to %.4f", dragPerK, dragPerKSD, -most, -least)
	}
}
