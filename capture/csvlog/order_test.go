package csvlog

import (
	"fmt"
	"io"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"flywitness/drive"
	"flywitness/finding"
)

// tableOf writes the drive of the dialects with a row order of its own.
func tableOf(order []int) string {
	d := written{head: "Time (s),Engine speed (rpm),Vehicle speed (km/h)\n"}
	d.row = func(t, n, v float64) string { return fmt.Sprintf("%.2f,%.1f,%.1f\n", t, n, v) }
	lines := strings.SplitAfter(d.text(), "\n")
	var b strings.Builder
	b.WriteString(lines[0])
	for _, i := range order {
		b.WriteString(lines[1+i])
	}
	return b.String()
}

func upTo(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

func hasWarning(l *drive.Log, code finding.Code) bool {
	return slices.ContainsFunc(l.Warnings, func(w drive.Warning) bool { return w.Code == code })
}

// Stamps that jitter by more than their step run back here and there: the values stand as they arrived, every one of them, at times that rise.
func TestStampsThatJitter(t *testing.T) {
	var b strings.Builder
	b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
	for i := range 400 {
		at := 0.05 * float64(i)
		if i%50 == 20 {
			at += 0.07
		}
		fmt.Fprintf(&b, "%.3f,%d,%.1f\n", at, 1000+5*i, 30+0.1*float64(i))
	}
	l, err := read(strings.NewReader(b.String()), "log.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	engine := l.Channel(drive.EngineSpeed)
	if engine.Len() != 400 || !slices.IsSorted(engine.T) || !slices.IsSorted(engine.V) {
		t.Errorf("%d values, times rise: %v, values as they arrived: %v", engine.Len(), slices.IsSorted(engine.T), slices.IsSorted(engine.V))
	}
}

func TestRowsInAnotherOrder(t *testing.T) {
	straight := upTo(dialectRows)
	reversed := slices.Clone(straight)
	slices.Reverse(reversed)
	shuffled := slices.Clone(straight)
	rand.New(rand.NewPCG(1, 2)).Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
	moved := slices.Concat(straight[:100], []int{140}, straight[100:140], straight[141:])
	twice := slices.Concat(straight[:300], []int{299}, straight[300:])
	for name, c := range map[string]struct {
		order []int
		code  finding.Code
	}{"newest first": {reversed, "out_of_order"}, "shuffled": {shuffled, "out_of_order"}, "one row early": {moved, "out_of_order"}, "one row twice": {twice, "duplicate_rows"}} {
		t.Run(name, func(t *testing.T) {
			l, err := read(strings.NewReader(tableOf(c.order)), "log.csv", Options{})
			if err != nil {
				t.Fatal(err)
			}
			checkDrive(t, l)
			if !hasWarning(l, c.code) {
				t.Errorf("nothing said: %v", l.Warnings)
			}
		})
	}
}

func TestClockThatBeginsAgain(t *testing.T) {
	first := tableOf(upTo(dialectRows))
	_, rows, _ := strings.Cut(first, "\n")
	second := strings.ReplaceAll(rows, "\n", "1\n") // 30.01 where 30.0 was
	l, err := read(strings.NewReader(first+second), "log.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	c := l.Channel(drive.EngineSpeed)
	if c.Len() != 2*dialectRows || !slices.IsSorted(c.T) || !hasWarning(l, "clock_restarts") {
		t.Fatalf("%d samples, warnings %v", c.Len(), l.Warnings)
	}
	if gap := c.T[dialectRows] - c.T[dialectRows-1]; gap < restartGap-1 || gap > restartGap+1 {
		t.Errorf("the second part stands %.1f s behind the first", gap)
	}
}

// The link hangs for ten seconds while the logger goes on writing: these rows are no measurements. At a standstill an engine may idle evenly.
func TestFrozenRows(t *testing.T) {
	for _, moving := range []bool{true, false} {
		var b strings.Builder
		b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
		for i := range 600 {
			k := i
			if i > 200 && i < 400 {
				k = 200
			}
			v := 0
			if moving {
				v = 40 + k/20
			}
			fmt.Fprintf(&b, "%.2f,%.2f,%d\n", float64(i)*0.05, 1500+0.25*float64(k*7%1000), v)
		}
		l, err := read(strings.NewReader(b.String()), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		want := 600
		if moving {
			want -= 199
		}
		if n := l.Channel(drive.EngineSpeed).Len(); n != want || hasWarning(l, "frozen_rows") != moving {
			t.Errorf("moving %v: %d samples, want %d; %v", moving, n, want, l.Warnings)
		}
	}
}

// Where no row is a measurement, that is said, and nothing against the clock.
func TestNothingButFrozenRows(t *testing.T) {
	for speed, want := range map[string]string{"40": "the link had hung", "0": ""} {
		var b strings.Builder
		b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
		for i := range 200 {
			fmt.Fprintf(&b, "%.2f,1500,%s\n", float64(i)*0.05, speed)
		}
		_, err := read(strings.NewReader(b.String()), "log.csv", Options{})
		if (err != nil) != (want != "") || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("at %s km/h: %v", speed, err)
		}
	}
}

// An engine at its limiter, or a car under cruise control, may keep every value for seconds: the row that follows goes on from it.
func TestStandingValuesAreNotFrozen(t *testing.T) {
	var b strings.Builder
	b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
	for i := range 600 {
		kmh := 100.0
		switch {
		case i < 200:
			kmh = 60 + float64(i)/5
		case i >= 400:
			kmh = 100 - float64(i-400)/5
		}
		fmt.Fprintf(&b, "%.2f,%.0f,%.0f\n", float64(i)*0.05, 30*kmh, kmh)
	}
	l, err := read(strings.NewReader(b.String()), "log.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if n := l.Channel(drive.EngineSpeed).Len(); n != 600 || len(l.Warnings) > 0 {
		t.Errorf("%d of 600 samples, %v", n, l.Warnings)
	}
}

// A pause of hours, or a clock that was set forward, makes no bunches of the rows on either side.
func TestPauseMakesNoBunches(t *testing.T) {
	var b strings.Builder
	b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
	for i := range 600 {
		at := float64(i) * 0.05
		if i >= 300 {
			at += 7200
		}
		fmt.Fprintf(&b, "%.2f,%d,%d\n", at, 1500+i*7%1000, 40+i/20)
	}
	l, err := read(strings.NewReader(b.String()), "log.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if c := l.Channel(drive.EngineSpeed); len(l.Warnings) > 0 || c.T[599]-c.T[0] != 7229.95 {
		t.Errorf("the last stands at %v s, %v", c.T[599]-c.T[0], l.Warnings)
	}
}

// Whole numbers or coarse steps of engine speed repeat without any row being old.
func TestCoarseEngineSpeedIsNotHeld(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	for _, step := range []float64{1, 10, 32} {
		var b strings.Builder
		b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
		for i := range 2000 {
			rpm := 2000 + 1000*float64(i%400)/400 + 3*rng.NormFloat64()
			if i < 800 {
				rpm = 850 + 2*rng.NormFloat64()
			}
			fmt.Fprintf(&b, "%.2f,%g,%d\n", float64(i)*0.05, step*float64(int(rpm/step)), i/40)
		}
		l, err := read(strings.NewReader(b.String()), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		if n := l.Channel(drive.EngineSpeed).Len(); l.Held || n < 1990 {
			t.Errorf("steps of %g rpm: held %v, %d of 2000 samples", step, l.Held, n)
		}
	}
}

// read is Text and Read in one.
func read(r io.Reader, name string, opt Options) (*drive.Log, error) {
	text, err := Text(r, name)
	if err != nil {
		return nil, err
	}
	return Read(text, name, opt)
}
