//go:build proof

package capture_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"flywitness/capture/adaptertest"
)

// The share of what the car sent that is in the file, for everything that the double can do to it: half an hour each.
func TestProofShare(t *testing.T) {
	fmt.Println("| what happens | values sent whole | of these in the file | wrong values | seconds with engine speed | seconds with road speed | channels |")
	fmt.Println("|---|---|---|---|---|---|---|")
	for _, s := range scenarios() {
		d := adaptertest.New(s.protocol)
		s.set(d)
		k := take(t, d, 30*time.Minute)
		fmt.Printf("| %s | %d | %.2f %% | %d | %.1f %% | %.1f %% | %d of 10 |\n", s.name, k.sent, 100*k.share(), k.wrong, 100*k.engine, 100*k.road, k.channels)
		if k.wrong > 0 || k.share() < s.share || k.engine < s.engine || k.road < s.road || k.channels < s.channels {
			t.Errorf("%s: notes %.20q", s.name, k.rows.notes)
		}
	}
}

// Two hours with something going wrong every 20 s, on the double: the same questions as for the emulated adapter, by other hands.
func TestProofDoubleSoak(t *testing.T) {
	fmt.Println("| link | troubles | values sent whole | of these in the file | wrong values | seconds with engine speed | seconds with road speed |")
	fmt.Println("|---|---|---|---|---|---|---|")
	for _, link := range []struct {
		name     string
		protocol byte
		several  bool
	}{{"K-line", '5', false}, {"CAN", '6', false}, {"CAN, several a request", '6', true}, {"CAN, long identifiers", '7', false}} {
		rng := rand.New(rand.NewPCG(2026, uint64(link.protocol)))
		d := adaptertest.New(link.protocol)
		d.Several = link.several
		troubles := soak(d, rng, 2*time.Hour)
		k := take(t, d, 2*time.Hour)
		fmt.Printf("| %s | %d | %d | %.3f %% | %d | %.1f %% | %.1f %% |\n", link.name, troubles, k.sent, 100*k.share(), k.wrong, 100*k.engine, 100*k.road)
		if k.wrong > 0 || k.share() < 0.995 || k.engine < 0.9 || k.road < 0.9 {
			t.Errorf("%s: %d wrong, %.4f kept, engine %.3f, road %.3f", link.name, k.wrong, k.share(), k.engine, k.road)
		}
	}
}

// soak lays a trouble of random kind and of 0.5 to 3.5 s every 20 s and returns how many.
func soak(d *adaptertest.Double, rng *rand.Rand, length time.Duration) int {
	const kinds = 7
	kind := make([]int, int(length/(20*time.Second)))
	long := make([]time.Duration, len(kind))
	reset := make([]bool, len(kind))
	for i := range kind {
		kind[i], long[i] = rng.IntN(kinds), 500*time.Millisecond+time.Duration(rng.Int64N(int64(3*time.Second)))
	}
	at := func(now time.Duration) (kindNow, index int) {
		i := int(now/(20*time.Second)) - 3
		if i < 0 || i >= len(kind) || now%(20*time.Second) > long[i] {
			return -1, i
		}
		return kind[i], i
	}
	d.Away = func(now time.Duration) bool { k, _ := at(now); return k == 0 }
	d.Units[0].Silent = func(now time.Duration, pid byte) bool {
		k, _ := at(now)
		return k == 1 || k == 2 && pid == 0x0D
	}
	d.Script = func(x *adaptertest.Exchange) {
		switch k, i := at(x.At); k {
		case 3:
			x.Mute = true
		case 4:
			x.Delay = 400 * time.Millisecond
		case 5:
			if !reset[i] {
				reset[i] = true
				d.Reset()
			}
		case 6: // bytes that no line of an adapter holds; a digit for a digit is the emulated adapter's kind of garbage
			x.Spoil = func(b []byte) { b[rng.IntN(len(b))] |= 0x80 }
		}
	}
	return len(kind)
}
