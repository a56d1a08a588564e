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

// drawnLog writes twenty rows a second with straight lines between the replies of a car that answers every so many seconds, each time a
// little later or earlier: engine speed in quarters, road speed in whole km/h. Nobody asks between the two times of a pause. It returns how many
// replies there were.
func drawnLog(every, jitter float64, format string, pause ...float64) (text string, replies int) {
	rng := rand.New(rand.NewPCG(5, 9))
	kmh := func(t float64) float64 { return 70 + 35*math.Sin(t/11) + 9*math.Sin(t/2.3) }
	var at, rpm, speed []float64
	for t := 0.0; t < 300; t += every + jitter*(rng.Float64()-0.5) {
		if len(pause) == 2 && t > pause[0] && t < pause[1] {
			continue
		}
		at = append(at, t)
		rpm = append(rpm, math.Round(4*(35*kmh(t)+3*rng.NormFloat64()))/4)
		speed = append(speed, math.Floor(kmh(t)))
	}
	var b strings.Builder
	b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
	for i, k := 0, 0; ; i++ {
		t := float64(i) * 0.05
		for k+1 < len(at) && at[k+1] < t {
			k++
		}
		if k+1 == len(at) {
			return b.String(), len(at)
		}
		f := (t - at[k]) / (at[k+1] - at[k])
		fmt.Fprintf(&b, "%.2f,"+format+"\n", t, rpm[k]+f*(rpm[k+1]-rpm[k]), speed[k]+f*(speed[k+1]-speed[k]))
	}
}

func TestLinesBetweenRepliesAreNoMeasurements(t *testing.T) {
	numbers.Only(t)
	for _, c := range []struct {
		every, jitter float64
		format        string
	}{{1, 0, "%.2f,%.2f"}, {0.5, 0, "%.3f,%.3f"}, {1, 0.3, "%.2f,%.2f"}, {0.5, 0.15, "%.2f,%.2f"}, {0.37, 0.05, "%.2f,%.2f"}, {0.5, 0.1, "%v,%v"}} {
		text, replies := drawnLog(c.every, c.jitter, c.format)
		l, err := read(strings.NewReader(text), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		if len(l.Warnings) != 1 || l.Warnings[0].Code != finding.DrawnLines {
			t.Errorf("%v: it says %v", c, l.Warnings)
		}
		// A reply on the line between its neighbours leaves no bend: whole km/h under even acceleration lose some, and that errs on
		// the safe side. More values than replies would claim what nobody measured.
		for name, least := range map[string]float64{drive.EngineSpeed: 0.9, drive.VehicleSpeed: 0.75} {
			if share := float64(l.Channel(name).Len()) / float64(replies); share < least || share > 1.05 {
				t.Errorf("%v: %s has %.2f values for a reply", c, name, share)
			}
		}
		for _, v := range l.Channel(drive.VehicleSpeed).V {
			if v != math.Round(v) {
				t.Fatalf("%v: the car gave whole km/h, and the log has %g", c, v)
			}
		}
	}
}

// A line is drawn across a pause of the recording too: nothing was read there.
func TestLineAcrossAPause(t *testing.T) {
	text, replies := drawnLog(0.5, 0.1, "%.3f,%.3f", 150, 172)
	l, err := read(strings.NewReader(text), "log.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{drive.EngineSpeed, drive.VehicleSpeed} {
		c, inside := l.Channel(name), 0
		for _, at := range c.T {
			if at > 151 && at < 171 {
				inside++
			}
		}
		if inside > 0 || c.Len() < replies*3/4 {
			t.Errorf("%s: %d values within the pause, %d of %d replies in all", name, inside, c.Len(), replies)
		}
	}
}

// Rounded to whole numbers, lines of engine speed still bend; those of road speed are too flat to tell.
func TestRoundedLines(t *testing.T) {
	text, replies := drawnLog(1, 0, "%.0f,%.0f")
	l, err := read(strings.NewReader(text), "log.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if n := l.Channel(drive.EngineSpeed).Len(); n < replies*9/10 || n > replies*11/10 {
		t.Errorf("%d values of %d replies", n, replies)
	}
}

// What was measured in every row stays, however smooth it is and however coarse its digits are.
func TestMeasuredRowsStay(t *testing.T) {
	numbers.Only(t)
	rng := rand.New(rand.NewPCG(2, 8))
	for _, c := range []struct{ digit, noise, step float64 }{
		{0.25, 3, 1}, {1, 0, 1}, {1, 0.5, 1}, {0.01, 0, 0.01}, {0.25, 0, 0.1}, {8, 0, 1}, {1e-6, 0, 1e-6},
	} {
		var b strings.Builder
		b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h)\n")
		gear, n := 0.0, 0
		for i := range 6000 {
			at := float64(i) * 0.05
			if i%400 == 0 { // a change of gear: engine speed moves on within half a second
				gear = 35 - gear
			}
			kmh := 70 + 35*math.Sin(at/11) + 9*math.Sin(at/2.3)
			rpm := (35+gear*(1-math.Exp(-float64(i%400)/10)))*kmh + c.noise*rng.NormFloat64()
			fmt.Fprintf(&b, "%.2f,%v,%v\n", at, math.Round(rpm/c.digit)*c.digit, math.Round(kmh/c.step)*c.step)
			n++
		}
		l, err := read(strings.NewReader(b.String()), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		if m := l.Channel(drive.EngineSpeed).Len(); m != n {
			t.Errorf("%+v: %d of %d engine speeds left: %v", c, m, n, l.Warnings)
		}
		if m := l.Channel(drive.VehicleSpeed).Len(); m != n {
			t.Errorf("%+v: %d of %d road speeds left: %v", c, m, n, l.Warnings)
		}
	}
}

// easedLog writes rows of a foot that moves from one place to the next, of a throttle that follows it at once, and of an engine and a car
// that follow later: smooth values in coarse digits, which leave the line between their neighbours at the sharpest turns alone.
func easedLog(seed uint64, hz int) string {
	const step = 0.001
	rng := rand.New(rand.NewPCG(seed, 3))
	var b strings.Builder
	b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h),Throttle (%)\n")
	from, to, began, lasts, rests := 0.0, 20.0, 0.0, 1.0, 0.5
	throttle, rpm, kmh := 0.0, 900.0, 20.0
	for i := range 400_000 {
		at := step * float64(i)
		if at > began+lasts+rests {
			from, to, began, lasts, rests = to, 90*rng.Float64(), at, 0.3+0.7*rng.Float64(), 0.5
		}
		foot := from + (to-from)*min(1, (at-began)/lasts)
		throttle += (foot - throttle) * step / 0.05
		rpm += (1000 + 40*throttle - rpm) * step
		kmh += (rpm/35 - kmh) * step / 2
		if i%(1000/hz) == 0 {
			fmt.Fprintf(&b, "%.3f,%.0f,%.1f,%.0f\n", at, 2*math.Round(rpm/2), kmh, throttle)
		}
	}
	return b.String()
}

// What lies between two sharp turns of a measured signal is a curve: no value was drawn.
func TestSharpTurnsAreNoReplies(t *testing.T) {
	numbers.Only(t)
	for seed := range uint64(10) {
		for _, hz := range []int{25, 50} {
			l, err := read(strings.NewReader(easedLog(seed, hz)), "log.csv", Options{})
			if err != nil {
				t.Fatal(err)
			}
			for _, c := range l.Channels {
				if c.Len() != l.Rows {
					t.Errorf("seed %d, %d rows a second: %s keeps %d values of %d: %v", seed, hz, c.Name, c.Len(), l.Rows, l.Warnings)
				}
			}
		}
	}
}

// Where the digits of a speed are too coarse to show its lines, it has as many values as engine speed, whose lines show.
func TestCoarseLinesBesideFineOnes(t *testing.T) {
	text, replies := drawnLog(0.5, 0.1, "%.2f,%.0f")
	l, err := read(strings.NewReader(text), "log.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{drive.EngineSpeed, drive.VehicleSpeed} {
		if share := float64(l.Channel(name).Len()) / float64(replies); share < 0.75 || share > 1.05 {
			t.Errorf("%s has %.2f values for a reply", name, share)
		}
	}
}

// footLog writes ten rows a second of a foot that moves in a straight line from one place to the next and rests there, and of an engine and a car that follow. A
// logger that asks for the throttle every so many seconds draws lines between; with 0 it asks in each row.
func footLog(seed uint64, moves, rests [2]float64, every float64) string {
	const hz, lasts = 10, 400
	rng := rand.New(rand.NewPCG(seed, 3))
	within := func(x [2]float64) float64 { return x[0] + (x[1]-x[0])*rng.Float64() }
	var foot []float64 // by hundredths of a second
	for at := 0.0; len(foot) < 100*lasts+1000; {
		to, n := 90*rng.Float64(), 100*within(moves)
		for k := range int(n) {
			foot = append(foot, at+(to-at)*float64(k)/n)
		}
		foot, at = append(foot, slices.Repeat([]float64{to}, int(100*within(rests)))...), to
	}
	var asked, told []float64
	for at := 0.0; every > 0 && at < lasts+9; at += every * (0.9 + 0.2*rng.Float64()) {
		asked, told = append(asked, at), append(told, math.Round(foot[int(100*at)]*255/100)*100/255)
	}
	var b strings.Builder
	b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h),Throttle (%)\n")
	rpm, kmh := 900.0, 20.0
	for i, k := 0, 0; i < hz*lasts; i++ {
		at := float64(i) / hz
		throttle := foot[i*100/hz]
		rpm += (1000 + 40*throttle - rpm) / hz
		kmh += (rpm/35 - kmh) / hz / 2
		if every > 0 {
			for asked[k+1] < at {
				k++
			}
			throttle = told[k] + (told[k+1]-told[k])*(at-asked[k])/(asked[k+1]-asked[k])
		}
		fmt.Fprintf(&b, "%.1f,%.2f,%.0f,%.2f\n", at, math.Round(4*rpm+3*rng.NormFloat64())/4, kmh, throttle)
	}
	return b.String()
}

// A row for each reply, fifty a second: engine speed rises so evenly between the shifts of a car that its whole rpm lie on lines, but a row with one
// value was written when that value came.
func TestRowsOfOneReplyAreNotDrawn(t *testing.T) {
	var b strings.Builder
	b.WriteString("Time (ms),Engine speed (rpm),Vehicle speed (km/h)\n")
	rpm, slope, rows := 1500.0, 0.0, 0
	for i := range 4000 {
		if i%8 == 0 {
			slope = float64(12 - i*7%25) // rpm a reply
			if rpm+8*slope < 1000 || rpm+8*slope > 4000 {
				slope = -slope
			}
		}
		rpm += slope
		fmt.Fprintf(&b, "%d,%.0f,\n%d,,%.1f\n", 20*i, rpm, 20*i+10, rpm/35)
		rows++
	}
	l, err := read(strings.NewReader(b.String()), "log.csv", Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{drive.EngineSpeed, drive.VehicleSpeed} {
		if n := l.Channel(name).Len(); n != rows {
			t.Errorf("%d of %d replies of %s are left, and it says %v", n, rows, name, l.Warnings)
		}
	}
}

// A foot may move in straight lines, as long and as often as it likes; a logger draws them at its pace.
func TestStraightFeetAreNoLoggers(t *testing.T) {
	numbers.Only(t)
	for _, c := range []struct {
		moves, rests [2]float64
		every        float64
	}{
		{moves: [2]float64{0.3, 1}, rests: [2]float64{0.5, 0.5}}, {moves: [2]float64{0.3, 1}, rests: [2]float64{0, 3}}, {moves: [2]float64{0.8, 1.2}, rests: [2]float64{0.5, 6}},
		{moves: [2]float64{0.3, 1}, rests: [2]float64{0.5, 6}, every: 0.6},
		{moves: [2]float64{0.3, 1}, rests: [2]float64{0.5, 6}, every: 1},
	} {
		for seed := range uint64(5) {
			l, err := read(strings.NewReader(footLog(seed, c.moves, c.rests, c.every)), "log.csv", Options{})
			if err != nil {
				t.Fatal(err)
			}
			if told := hasWarning(l, finding.DrawnLines); told != (c.every > 0) {
				t.Errorf("seed %d, %v: lines are told: %v; %v", seed, c, told, l.Warnings)
			}
		}
	}
}
