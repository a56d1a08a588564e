package capture_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"flywitness/capture"
	"flywitness/capture/adapter"
	"flywitness/capture/adaptertest"
	"flywitness/drive"
	"flywitness/internal/numbers"
)

// raw turns recorded values back into the numbers of the replies (SAE J1979 service 01, from memory; apart from capture/obd).
var raw = map[string]struct {
	pid byte
	of  func(v float64) float64
}{
	drive.EngineLoad:         {0x04, func(v float64) float64 { return v * 255 / 100 }},
	drive.CoolantTemp:        {0x05, func(v float64) float64 { return v + 40 }},
	drive.IntakePressure:     {0x0B, func(v float64) float64 { return v }},
	drive.EngineSpeed:        {0x0C, func(v float64) float64 { return v * 4 }},
	drive.VehicleSpeed:       {0x0D, func(v float64) float64 { return v }},
	drive.IntakeTemp:         {0x0F, func(v float64) float64 { return v + 40 }},
	drive.Throttle:           {0x11, func(v float64) float64 { return v * 255 / 100 }},
	drive.BarometricPressure: {0x33, func(v float64) float64 { return v }},
	drive.Pedal:              {0x49, func(v float64) float64 { return v * 255 / 100 }},
	drive.EngineTorque:       {0x62, func(v float64) float64 { return v + 125 }},
}

// took is what came of a recording from the double.
type took struct {
	sum      capture.Summary
	rows     *memory
	notices  []string
	sent     int     // values that the engine's unit has sent whole
	kept     int     // of these in the file
	wrong    int     // values in the file that were never sent, or not in this order
	engine   float64 // share of the seconds in which the car would have answered that hold an engine speed
	road     float64 // and a road speed
	channels int     // channels in the file
}

// share is the share of the sent values that are in the file.
func (k took) share() float64 { return float64(k.kept) / float64(k.sent) }

// meet finds adapter and car as the recorder does.
func meet(ctx context.Context, d *adaptertest.Double) (*adapter.Adapter, error) {
	a := adapter.New(d.Open, d, adapter.Options{})
	return a, a.Meet(ctx, func(string) {})
}

// take records from the double for a while and sets what it sent against what was recorded.
func take(t *testing.T, d *adaptertest.Double, length time.Duration) took {
	t.Helper()
	a, err := meet(t.Context(), d)
	if err != nil {
		t.Fatalf("%v\n%s", err, d.Text.String())
	}
	k := took{rows: newMemory()}
	from := d.Elapsed()
	d.Sent = nil
	k.sum, err = capture.Record(t.Context(), capture.Config{Adapter: a, Clock: d, Sink: k.rows, Created: d.Now(), For: length,
		Notice: func(s string) { k.notices = append(k.notices, s) }})
	if err != nil {
		t.Fatal(err)
	}
	k.compare(d, from)
	k.engine, k.road = k.seconds(d, from, 0x0C, drive.EngineSpeed), k.seconds(d, from, 0x0D, drive.VehicleSpeed)
	return k
}

// compare walks through the values of each channel in the order of sending. A value that was damaged on the line may be in the file,
// where the damage fell on a byte that does not matter, and need not be.
func (k *took) compare(d *adaptertest.Double, from time.Duration) {
	for channel, r := range raw {
		var sent []adaptertest.Value
		for _, v := range d.Sent {
			if v.PID == r.pid {
				sent = append(sent, v)
			}
		}
		at, found := 0, 0
		for _, row := range k.rows.rows {
			v, ok := row.cells[channel]
			if !ok {
				continue
			}
			n, now := int(math.Round(r.of(v))), from+time.Duration(row.t*float64(time.Second))
			next := at
			for next < len(sent) && (sent[next].Raw != n || sent[next].At < now-near) && sent[next].At < now+near {
				next++
			}
			if next == len(sent) || sent[next].Raw != n || sent[next].At >= now+near {
				k.wrong++
				continue
			}
			if at = next + 1; !sent[next].Damaged {
				found++
			}
		}
		for _, v := range sent {
			if !v.Damaged {
				k.sent++
			}
		}
		k.kept += found
		if found > 0 {
			k.channels++
		}
	}
}

// near is how far the time of a row may be from the moment at which the double took the value: less than its numbers need to come round.
const near = time.Second

// seconds is the share of the seconds, of those in which the car would have answered all the time, that hold a value.
func (k *took) seconds(d *adaptertest.Double, from time.Duration, pid byte, channel string) float64 {
	have := map[int]bool{}
	for _, row := range k.rows.rows {
		if _, ok := row.cells[channel]; ok {
			have[int(row.t)] = true
		}
	}
	possible, held := 0, 0
	for s := 0; s < int(k.sum.Duration.Seconds()); s++ {
		answers := true
		for at := time.Duration(0); at < time.Second; at += 50 * time.Millisecond {
			now := from + time.Duration(s)*time.Second + at
			silent := d.Units[0].Silent
			answers = answers && !(d.Away != nil && d.Away(now)) && !(silent != nil && silent(now, pid))
		}
		if answers {
			possible++
			if have[s] {
				held++
			}
		}
	}
	return float64(held) / float64(max(possible, 1))
}

// during tells whether a moment lies in one of the stretches, in s.
func during(at time.Duration, stretches ...[2]float64) bool {
	for _, x := range stretches {
		if s := at.Seconds(); s >= x[0] && s < x[1] {
			return true
		}
	}
	return false
}

// lose loses the first n replies to a command.
func lose(n int, commands ...string) func(*adaptertest.Exchange) {
	return func(x *adaptertest.Exchange) {
		for _, c := range commands {
			if x.Command == c && x.N < n {
				x.Lost = true
			}
		}
	}
}

// scenario is something that happens between car and file.
type scenario struct {
	name     string
	protocol byte
	set      func(d *adaptertest.Double)
	share    float64 // least share of the sent values in the file
	engine   float64 // least share of the seconds with engine speed
	road     float64
	channels int
}

func scenarios() []scenario {
	rng := rand.New(rand.NewPCG(13, 13))
	none := func(*adaptertest.Double) {}
	script := func(f func(*adaptertest.Exchange)) func(*adaptertest.Double) {
		return func(d *adaptertest.Double) { d.Script = f }
	}
	silent := func(pid byte, stretches ...[2]float64) func(*adaptertest.Double) {
		return func(d *adaptertest.Double) {
			d.Units[0].Silent = func(at time.Duration, p byte) bool { return p == pid && during(at, stretches...) }
		}
	}
	second := func(refused ...string) func(*adaptertest.Double) {
		return func(d *adaptertest.Double) {
			other := adaptertest.NewGearbox(map[byte]uint32{'6': 0x7E9, '7': 0x18DAF118}[d.Protocol])
			other.Silent = func(at time.Duration, _ byte) bool { return rng.Float64() > 0.2 || at < 8*time.Second }
			d.Units = []*adaptertest.Unit{d.Units[0], other}
			d.OtherFirst = true
			d.Refuses = map[string]bool{}
			for _, r := range refused {
				d.Refuses[r] = true
			}
		}
	}
	return []scenario{
		{"nothing, CAN, one parameter a request", '6', none, 1, 1, 1, 10},
		{"nothing, CAN, several a request", '6', func(d *adaptertest.Double) { d.Several = true }, 1, 1, 1, 10},
		{"nothing, CAN with long identifiers", '7', none, 1, 1, 1, 10},
		{"nothing, K-line", '5', none, 1, 1, 1, 10},
		{"road speed silent for 10 s, three times", '6', silent(0x0D, [2]float64{60, 70}, [2]float64{120, 130}, [2]float64{200, 210}), 1, 1, 0.98, 10},
		{"coolant temperature silent for a minute", '6', silent(0x05, [2]float64{60, 120}), 1, 1, 1, 10},
		{"every answer of engine speed lost for 20 s", '6', silent(0x0C, [2]float64{60, 80}), 1, 0.98, 0.98, 10},
		{"first reply to 01 00 lost", '6', script(lose(1, "0100")), 1, 1, 1, 10},
		{"first reply to every support mask lost", '6', script(lose(1, "0100", "0120", "0140", "0160")), 1, 1, 1, 10},
		{"support mask 20 lost for two minutes", '6', script(func(x *adaptertest.Exchange) {
			x.Lost = x.Command == "0120" && x.At < 2*time.Minute
		}), 1, 1, 1, 10},
		{"first reply about engine speed lost, and the first about both", '6', func(d *adaptertest.Double) {
			d.Several, d.Script = true, lose(1, "010C", "010C0D")
		}, 1, 1, 1, 10},
		{"road speed given and not announced", '6', func(d *adaptertest.Double) {
			d.Units[0].Masks = map[byte]uint32{0: 0x18328001} // all but 0D
		}, 1, 1, 1, 10},
		{"a second unit answers one request in five, first", '6', second(), 1, 1, 1, 10},
		{"the same on long identifiers", '7', second(), 1, 1, 1, 10},
		{"the same, and the adapter cannot address", '7', second("ATSH", "ATCRA"), 0.97, 1, 1, 10},
		{"a counted request is answered with NO DATA", '6', func(d *adaptertest.Double) { d.NoCount = "NO DATA" }, 1, 1, 1, 10},
		{"a counted request is not understood", '6', func(d *adaptertest.Double) { d.NoCount = "?" }, 1, 1, 1, 10},
		{"one reply in twenty lost", '6', script(func(x *adaptertest.Exchange) { x.Lost = rng.Float64() < 0.05 }), 1, 0.99, 0.99, 10},
		{"one reply in fifty damaged", '6', script(func(x *adaptertest.Exchange) {
			if rng.Float64() < 0.02 {
				x.Spoil = func(b []byte) { b[len(b)/2] |= 0x80 }
			}
		}), 1, 0.97, 0.97, 10},
		{"a reply comes 3 s late every minute", '6', script(func(x *adaptertest.Exchange) {
			if x.N%1800 == 1799 {
				x.Delay = 3 * time.Second
			}
		}), 1, 0.95, 0.95, 10},
		{"unplugged for 5 s, three times", '6', func(d *adaptertest.Double) {
			d.Away = func(at time.Duration) bool {
				return during(at, [2]float64{60, 65}, [2]float64{120, 125}, [2]float64{200, 205})
			}
		}, 0.999, 0.98, 0.98, 10},
		{"the adapter resets itself every minute", '6', func(d *adaptertest.Double) {
			next := time.Minute
			d.Script = func(x *adaptertest.Exchange) {
				if x.At >= next {
					next += time.Minute
					d.Reset()
				}
			}
		}, 0.999, 0.98, 0.98, 10},
	}
}

// What the car sends is in the file, whatever goes wrong between; nothing is in the file that it did not send. The few values that
// are missing after a lost line were asked for to find the car again.
func TestWhatIsSentIsInTheFile(t *testing.T) {
	numbers.Only(t)
	t.Parallel()
	for _, s := range scenarios() {
		d := adaptertest.New(s.protocol)
		s.set(d)
		k := take(t, d, 230*time.Second)
		row := fmt.Sprintf("| %s | %d | %.2f %% | %.1f %% | %.1f %% | %d of 10 |", s.name, k.sent, 100*k.share(), 100*k.engine, 100*k.road, k.channels)
		t.Log(row)
		if k.wrong > 0 || k.share() < s.share || k.engine < s.engine || k.road < s.road || k.channels < s.channels {
			t.Errorf("%s\n%d wrong values; notes %q", row, k.wrong, k.rows.notes)
		}
	}
}

// A channel that stops is told, each time, to the person, in the file and in the summary; so is its return.
func TestALostChannelIsTold(t *testing.T) {
	numbers.Only(t)
	t.Parallel()
	d := adaptertest.New('6')
	d.Units[0].Silent = func(at time.Duration, pid byte) bool {
		return pid == 0x0D && during(at, [2]float64{60, 70}, [2]float64{120, 135}) || pid == 0x05 && at > 150*time.Second
	}
	k := take(t, d, 5*time.Minute)
	for text, want := range map[string]int{
		" lost: vehicle_speed_kmh": 2, " vehicle_speed_kmh is back after 1": 2, " lost: coolant_temp_c": 1, " coolant_temp_c is back": 0, "gap": 0,
	} {
		if n := containing(k.rows.notes, text); n != want {
			t.Errorf("%d notes with %q, want %d: %q", n, text, want, k.rows.notes)
		}
	}
	if n := containing(k.notices, "the car no longer gives vehicle_speed_kmh"); n != 2 || containing(k.notices, "does not give vehicle_speed") > 0 {
		t.Errorf("told %d times: %q", n, k.notices)
	}
	lost := map[string]capture.Loss{}
	for _, l := range k.sum.Lost {
		lost[l.Channel] = l
	}
	if l := lost[drive.VehicleSpeed]; l.Times != 2 || l.Gone || math.Abs(l.Away.Seconds()-25) > 1 {
		t.Errorf("road speed %+v", l)
	}
	if l := lost[drive.CoolantTemp]; l.Times != 1 || !l.Gone || l.Away < 140*time.Second {
		t.Errorf("coolant %+v", l)
	}
	var text strings.Builder
	k.sum.Print(&text)
	if !strings.Contains(text.String(), "lost         coolant_temp_c, once,") || !strings.Contains(text.String(), "still gone at the end") {
		t.Errorf("the summary:\n%s", text.String())
	}
}

func containing(list []string, part string) int {
	n := 0
	for _, s := range list {
		if strings.Contains(s, part) {
			n++
		}
	}
	return n
}

// What could not be learnt is said to be so, and not to be lacking.
func TestWhatCouldNotBeLearntIsNotDenied(t *testing.T) {
	numbers.Only(t)
	t.Parallel()
	d := adaptertest.New('6')
	d.Script = func(x *adaptertest.Exchange) { x.Lost = x.Command == "0120" && x.At < time.Minute }
	k := take(t, d, 3*time.Minute)
	if containing(k.notices, "could not be learnt") == 0 || containing(k.notices, "learnt now") != 1 {
		t.Errorf("%q", k.notices)
	}
	for _, n := range k.notices {
		if strings.Contains(n, "does not give") && (strings.Contains(n, drive.Pedal) || strings.Contains(n, drive.EngineTorque)) {
			t.Errorf("denied: %s", n)
		}
	}
}

// A recording that begins right after another was broken off in the middle of a request finds the adapter, wherever that was.
func TestASecondRecordingAtOnce(t *testing.T) {
	numbers.Only(t)
	t.Parallel()
	for n := 5; n < 205; n += 4 {
		d := adaptertest.New('6')
		ctx, stop := context.WithCancel(t.Context())
		asked := 0
		d.Script = func(*adaptertest.Exchange) {
			if asked++; asked == n {
				stop()
			}
		}
		a := adapter.New(d.Open, d, adapter.Options{})
		if a.Meet(ctx, func(string) {}) == nil {
			_, _ = capture.Record(ctx, capture.Config{Adapter: a, Clock: d, Sink: newMemory(), Created: d.Now(), For: time.Hour})
		}
		a.Close()
		_ = d.Sleep(t.Context(), time.Duration(n%40)*time.Millisecond)
		stop()
		if k := take(t, d, 10*time.Second); k.wrong > 0 || k.share() < 1 || k.channels < 6 {
			t.Errorf("broken off at command %d: %d wrong, %.3f in the file", n, k.wrong, k.share())
		}
	}
}

// First contact is tried three times; a port that is not there is told at once.
func TestFirstContactIsTriedThreeTimes(t *testing.T) {
	t.Parallel()
	for dead, want := range map[int]bool{0: true, 2: true, 3: false} {
		d := adaptertest.New('6')
		d.Baud = 115200
		probes := 2 * dead // two questions at the one rate that is tried
		asked := 0
		d.Script = func(x *adaptertest.Exchange) {
			asked++
			x.Mute = asked <= probes
		}
		a := adapter.New(d.Open, d, adapter.Options{Baud: d.Baud})
		told := 0
		err := a.Meet(t.Context(), func(s string) {
			if strings.Contains(s, "trying again") {
				told++
			}
		})
		if (err == nil) != want || told != min(dead, 2) {
			t.Errorf("%d dead contacts: %v, told %d times", dead, err, told)
		}
	}
	d := adaptertest.New('6')
	d.Away = func(time.Duration) bool { return true }
	a := adapter.New(d.Open, d, adapter.Options{})
	if err := a.Meet(t.Context(), func(s string) { t.Error(s) }); err == nil || d.Elapsed() > 0 {
		t.Errorf("no port: %v after %v", err, d.Elapsed())
	}
}
