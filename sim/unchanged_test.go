package sim

import (
	"encoding/binary"
	"hash/fnv"
	"math"
	"runtime"
	"testing"
)

// Drives of cars without anything of the newer physics, and their logs, are what they were before it came, bit for
// bit (on amd64: others may contract products and sums).
func TestOldDrivesAreUnchanged(t *testing.T) {
	h := fnv.New64a()
	put := func(x []float64) {
		for _, v := range x {
			binary.Write(h, binary.LittleEndian, math.Float64bits(v))
		}
	}
	for i, c := range Cars() {
		rng := source(uint64(50 + i))
		road := HillyRoad(rng, 0.015, 300)
		if i%2 == 0 {
			c, road = c.Tired(0.9, rng), road.Wet()
		}
		o := MixedTraffic()
		o.FullThrottleShifts = 0.3
		tr := Drive(c, road, []Action{Launch(HardLaunch), Pull(2, 2000, 5000), Traffic(rng, 6, o), Coast(60, 40)}, rng)
		put(tr.EngineRPM)
		put(tr.WheelKmh)
		put(tr.ClutchTorqueNm)
		for _, lg := range []Logger{NewLogger(CANMulti), RandomLogger(KLine, rng)} {
			for _, ch := range lg.Record(tr, rng).Channels {
				put(ch.T)
				put(ch.V)
			}
		}
	}
	if got, want := h.Sum64(), uint64(0x4f4b4b3f282e2537); runtime.GOARCH == "amd64" && got != want {
		t.Errorf("sum %#x, was %#x", got, want)
	}
}
