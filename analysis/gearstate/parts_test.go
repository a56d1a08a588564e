package gearstate

import (
	"math"
	"math/rand/v2"
	"testing"

	"flywitness/drive"
	"flywitness/sim"
)

// A drive decoded in parts is the drive decoded as a whole.
func TestPartsAreTheWhole(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	car := sim.BenchMule()
	truth := sim.Drive(car, sim.LevelRoad(), []sim.Action{sim.Traffic(rng, 30, sim.MixedTraffic())}, rng)
	l := sim.NewLogger(sim.CANMulti).Record(truth, rng)
	m := Model{SpeedChannel: drive.VehicleSpeed, Step: 1, Lag: 0.25, LagSD: 0.01, TimingSD: 0.02, Period: 0.05, Idle: 850}
	m.Load = LoadScale{Channel: drive.EngineLoad, Closed: 15, Full: 95}
	for g := range car.Vehicle.Gearbox.Ratios {
		m.Gears = append(m.Gears, Gearing{Number: g + 1, K: car.Vehicle.RPMPerKmh(g + 1), SD: 0.05})
	}
	s := ReadSignals(l, m.SpeedChannel)
	if n := len(standstills(s, m.Period)); n < 2 {
		t.Fatalf("cut at %d standstills of half an hour of traffic", n)
	}
	s.ReadLoad(l, m.Load.Channel)
	parts := DecodeSignals(s, m)
	whole := NewTrack(len(s.Speed))
	whole.Model = m
	whole.Accel = make([]float64, len(s.Speed))
	partDecoder(whole, s, 0, len(s.Speed), new(path)).align.slopes(0, whole.Accel)
	decodePart(whole, s, 0, len(s.Speed), new(path))
	if parts.Len() != whole.Len() {
		t.Fatalf("%d samples in parts, %d in one", parts.Len(), whole.Len())
	}
	if math.IsNaN(whole.Load[whole.Len()/2]) {
		t.Fatal("the log has no load")
	}
	same := func(a, b float64) bool { return math.IsNaN(a) && math.IsNaN(b) || math.Abs(a-b) < 1e-6 }
	for i := range whole.T {
		if parts.T[i] != whole.T[i] || parts.Gear[i] != whole.Gear[i] || parts.Clutch[i] != whole.Clutch[i] ||
			!same(parts.Excess[i], whole.Excess[i]) ||
			!same(parts.RPM[i], whole.RPM[i]) || !same(parts.Load[i], whole.Load[i]) || !same(parts.Accel[i], whole.Accel[i]) {
			t.Fatalf("at %.2f s: gear %d %v in parts, %d %v in one; load %v, %v; acceleration %v, %v", whole.T[i],
				parts.Gear[i], parts.Clutch[i], whole.Gear[i], whole.Clutch[i],
				parts.Load[i], whole.Load[i], parts.Accel[i], whole.Accel[i])
		}
	}
}

// A drive of a value every half second is cut where the car stood for six seconds, and not where it did for two or three.
func TestStandstillsOfASlowLink(t *testing.T) {
	for seconds, want := range map[float64]int{3: 0, 6: 1} {
		var s Signals
		for i := range 2 * (partSamples + 20) {
			at, v := 0.5*float64(i), 50.0
			if d := at - 0.5*(partSamples+20); d >= 0 && d <= seconds {
				v = 0
			}
			s.SpeedT, s.Speed = append(s.SpeedT, at), append(s.Speed, v)
		}
		if got := standstills(s, 0.5); len(got) != want {
			t.Errorf("%.0f s of standstill: cut at %v", seconds, got)
		}
	}
}
