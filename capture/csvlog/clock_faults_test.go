package csvlog

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/numbers"
)

// stamped writes a lively drive of the given true times under other stamps, with dates where base is large.
func stamped(at, stamps []float64, base float64) string {
	var b strings.Builder
	b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
	for i, t := range at {
		v := 60 + 30*math.Sin(t/7) + 5*math.Sin(t/1.7)
		fmt.Fprintf(&b, "%.4f,%.2f,%.2f\n", base+stamps[i], 35*v, v)
	}
	return b.String()
}

// timesOff is how far the log's times lie from the true ones, but for a constant: the root mean square.
func timesOff(t *testing.T, l *drive.Log, at []float64) float64 {
	t.Helper()
	c := l.Channel(drive.EngineSpeed)
	if c.Len() != len(at) {
		t.Fatalf("%d of %d rows: %v", c.Len(), len(at), l.Warnings)
	}
	mean, sum := 0.0, 0.0
	for i := range at {
		mean += (c.T[i] - at[i]) / float64(len(at))
	}
	for i := range at {
		sum += (c.T[i] - at[i] - mean) * (c.T[i] - at[i] - mean)
	}
	return math.Sqrt(sum / float64(len(at)))
}

// even is n times of one pace, s.
func even(n int, pace float64) []float64 {
	at := make([]float64, n)
	for i := range at {
		at[i] = pace * float64(i)
	}
	return at
}

// A clock that is set back once or twice, by a second or by an hour, puts no row among others.
func TestClockThatIsSetBack(t *testing.T) {
	numbers.Only(t)
	at := even(4000, 0.1)
	for _, base := range []float64{0, 1.77e9} {
		for _, by := range []float64{1.37, 25, 200} {
			for _, places := range [][]int{{2500}, {2100, 3300}} {
				stamps := slices.Clone(at)
				for _, p := range places {
					for i := p; i < len(stamps); i++ {
						stamps[i] -= by
					}
				}
				l, err := read(strings.NewReader(stamped(at, stamps, base)), "log.csv", Options{})
				if err != nil {
					t.Fatal(err)
				}
				if off := timesOff(t, l, at); off > 0.05 || !hasWarning(l, finding.ClockSetBack) || hasWarning(l, finding.OutOfOrder) {
					t.Errorf("from %g s, back by %g s at %v: times are off by %.3f s; it says %v", base, by, places, off, l.Warnings)
				}
			}
		}
	}
}

// Pieces of a table in another order, a piece that overlaps the one before, and one row early are no clock that was set back.
func TestPiecesInAnotherOrderAreNoClockSetBack(t *testing.T) {
	at := even(600, 0.1)
	for name, rows := range map[string][]int{"another order": slices.Concat(upTo(600)[300:], upTo(600)[:300]), "overlap": slices.Concat(upTo(400), upTo(600)[350:]),
		"one row early": slices.Concat(upTo(100), []int{140}, upTo(140)[100:], upTo(600)[141:])} {
		var moved []float64
		for _, i := range rows {
			moved = append(moved, at[i])
		}
		l, err := read(strings.NewReader(stamped(moved, moved, 1.77e9)), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		if off := timesOff(t, l, at); off > 1e-3 || hasWarning(l, finding.ClockSetBack) {
			t.Errorf("%s: times are off by %.3f s; it says %v", name, off, l.Warnings)
		}
	}
}

// Replies that a buffer held back get most of their time back.
func TestBunchedStampsAreSpread(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	at := even(4000, 0.1)
	stamps := slices.Clone(at)
	for i := 0; i < len(stamps); {
		n := 4 + rng.IntN(9)
		if rng.Float64() < 0.3 {
			for k := i; k < min(i+n, len(stamps)); k++ {
				stamps[k] = at[min(i+n, len(stamps))-1] + 0.004*float64(k-i)
			}
		}
		i += n
	}
	l, err := read(strings.NewReader(stamped(at, stamps, 0)), "log.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if off := timesOff(t, l, at); off > 0.03 || !hasWarning(l, finding.BunchedStamps) {
		t.Errorf("times are off by %.3f s; it says %v", off, l.Warnings)
	}
}

// A buffer of two or three rows is one where it holds all of them; a pair of replies, each with a row of its own, is none.
func TestSmallBunchesAreSpreadWhereAllRowsAreInOne(t *testing.T) {
	at := even(1200, 0.25)
	for _, n := range []int{2, 3} {
		stamps := slices.Clone(at)
		for i := range stamps {
			stamps[i] = at[min(i-i%n+n, len(at))-1] + 0.002*float64(i%n)
		}
		l, err := read(strings.NewReader(stamped(at, stamps, 0)), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		if off := timesOff(t, l, at); off > 0.03 || !hasWarning(l, finding.BunchedStamps) {
			t.Errorf("bunches of %d: times are off by %.3f s; it says %v", n, off, l.Warnings)
		}
	}
	var held, empty strings.Builder
	for _, b := range []*strings.Builder{&held, &empty} {
		b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
	}
	before := 0.0
	for i := range 600 {
		s := 0.5 * float64(i)
		v := 60 + 30*math.Sin(s/7)
		fmt.Fprintf(&held, "%.3f,%.2f,%.2f\n%.3f,%.2f,%.2f\n", s, 35*v, before, s+0.03, 35*v, v)
		fmt.Fprintf(&empty, "%.3f,%.2f,\n%.3f,,%.2f\n", s, 35*v, s+0.03, v)
		before = v
	}
	for name, text := range map[string]string{"held": held.String(), "empty": empty.String()} {
		l, err := read(strings.NewReader(text), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		if hasWarning(l, finding.BunchedStamps) {
			t.Errorf("replies in turn, %s: it says %v", name, l.Warnings)
		}
	}
}

// Jitter of any size that a link has, gaps and pauses are no bunches.
func TestJitterIsNoBunch(t *testing.T) {
	numbers.Only(t)
	for seed := range uint64(40) {
		rng := rand.New(rand.NewPCG(seed, 3))
		pace := 0.02 + 0.4*rng.Float64()
		at := even(800, pace)
		for i := range at {
			if rng.IntN(100) == 0 {
				for k := i; k < len(at); k++ {
					at[k] += pace * (1 + 20*rng.Float64())
				}
			}
		}
		stamps := slices.Clone(at)
		sd := 0.6 * pace * rng.Float64()
		for i := range stamps {
			stamps[i] += sd * rng.NormFloat64()
		}
		l, err := read(strings.NewReader(stamped(at, stamps, 0)), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		if hasWarning(l, finding.BunchedStamps) || hasWarning(l, finding.ClockSetBack) {
			t.Errorf("seed %d: pace %.3f s, jitter %.3f s: it says %v", seed, pace, sd, l.Warnings)
		}
	}
}

// An hour and more in which a car stood, or after which it drives otherwise, is an hour.
func TestHoursThatPassed(t *testing.T) {
	for name, c := range map[string]struct {
		kmh  func(i int) float64
		leap float64 // s
	}{
		"it stood":         {func(i int) float64 { return max(0, 30-float64(i)) + max(0, float64(i)-80) }, 3605},
		"at another speed": {func(i int) float64 { return []float64{60, 25}[b(i >= 60)] + float64(i)/10 }, 3600},
		"over an hour":     {func(i int) float64 { return 30 + float64(i)/10 }, 3660},
	} {
		var text strings.Builder
		text.WriteString("Time,Engine RPM,Speed (km/h)\n")
		for i := range 120 {
			at := 7190 + float64(i)/10
			if i >= 60 {
				at += c.leap
			}
			fmt.Fprintf(&text, "%02d:%02d:%04.1f,%.0f,%.1f\n", int(at)/3600, int(at)/60%60, math.Mod(at, 60), max(800, 35*c.kmh(i)), c.kmh(i))
		}
		l, err := read(strings.NewReader(text.String()), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		if first, last := l.Span(); last-first < c.leap || hasWarning(l, finding.ClockSetForward) {
			t.Errorf("%s: %g s, %v", name, last-first, l.Warnings)
		}
	}
}
