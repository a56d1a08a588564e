package compare

import (
	"math"
	"testing"

	"flywitness/analysis/inertia"
	"flywitness/analysis/inertia/testcar"
	"flywitness/drive"
	"flywitness/finding"
)

// filtered is a side as another logger shows it: engine speed behind a first-order filter, s, under another heading.
func filtered(s Side, heading string, tau float64) Side {
	var logs []*drive.Log
	for _, l := range s.Logs {
		out := *l
		out.Channels = nil
		for _, c := range l.Channels {
			if c.Name == drive.EngineSpeed {
				x := *c
				x.Source, x.V = heading, make([]float64, len(c.V))
				for i := range c.V {
					if x.V[i] = c.V[i]; i > 0 && tau > 0 {
						x.V[i] += (x.V[i-1] - x.V[i]) * math.Exp(-(c.T[i]-c.T[i-1])/tau)
					}
				}
				c = &x
			}
			out.Channels = append(out.Channels, c)
		}
		logs = append(logs, &out)
	}
	out := Side{Logs: logs}
	out.Inertia, _ = inertia.Measure(logs, nil, nil, inertia.Options{})
	return out
}

// A logger that smooths engine speed over half a second makes falls longer. Where it recorded one side alone that is no
// change of inertia; where it recorded both, the change looks smaller than the interval of the falls says.
func TestSmoothingIsAllowedFor(t *testing.T) {
	const smooths = 0.55
	sides := func(before, after float64, number uint64) (b, a Side) {
		rng := seeded(number, 21)
		side := func(i float64) (s Side) {
			for range 4 {
				s.Logs = append(s.Logs, revs(stand(i), 7, 5200, 0.01, 1, testcar.CANMulti, rng).Logs...)
			}
			return s
		}
		return side(before), side(after)
	}
	said := func(w []finding.Finding) bool {
		for _, x := range w {
			if x.Code == finding.MaySmooth {
				return true
			}
		}
		return false
	}
	for number := range uint64(4) {
		b, a := sides(0.12, 0.12, number)
		for _, heading := range []string{"Engine RPM", "rpm"} { // another logger, or another setting of one
			f, w := Compare(filtered(b, "rpm", 0), filtered(a, heading, smooths), Options{Checklist: true})
			if f.Verdict != Inconclusive || !said(w) {
				t.Errorf("one side smoothed: %s (%s), told %v", f.Verdict, f.Reason, said(w))
			}
		}
		f, w := Compare(filtered(b, "rpm", 0), filtered(a, "Engine RPM", 0), Options{Checklist: true})
		if f.Verdict == Reduced || f.Verdict == Increased || said(w) {
			t.Errorf("two loggers that do not smooth: %s (%s), told %v", f.Verdict, f.Reason, said(w))
		}
		b, a = sides(0.24, 0.16, number)
		f, _ = Compare(filtered(b, "rpm", 0.4), filtered(a, "rpm", 0.4), Options{Checklist: true})
		if f.Verdict != Reduced || f.Ratio.CI95[1] < 1.5 {
			t.Errorf("both sides smoothed: %s, ratio %+v, true 1.5", f.Verdict, f.Ratio)
		}
	}
}
