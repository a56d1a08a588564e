package sim

import "math/rand/v2"

// Laps drives racing laps for some minutes: full accelerator out of each bend and up through the gears to the
// limit, hard on the brake with matched downshifts, half accelerator through the bend. There is no easy driving in
// it.
func Laps(rng *rand.Rand, minutes float64) Action {
	a, b := rng.Uint64(), rng.Uint64()
	return Action{Kind: "laps", do: func(d *run) {
		r := roam{run: d, rng: rand.New(rand.NewPCG(a, b)), end: d.now() + minutes*60}
		r.h = Habits{MaxKmh: 190, Brake: 8, Launches: []LaunchStyle{HardLaunch}, Ups: []ShiftStyle{QuickShift, QuickShift, FullThrottle, LateLift},
			Downs: []ShiftStyle{RevMatched}}
		type bend struct{ in, out float64 } // km/h
		lap := make([]bend, 6+r.rng.IntN(5))
		for i := range lap {
			in := 55 + 60*r.rng.Float64()
			lap[i] = bend{in, in + 25 + 65*r.rng.Float64()}
		}
		r.ready()
		for n := 0; r.now() < r.end; n++ {
			r.flat(lap[n%len(lap)].out)
			r.slow(lap[n%len(lap)].in, false)
			r.along(r.kmh(), 0.8+1.5*r.rng.Float64())
		}
		r.foot, r.brake = 0, 0
	}}
}

// flat accelerates with all there is, changing up just below the limit.
func (r *roam) flat(kmh float64) {
	r.ready()
	limit := r.motor.limit / radPerRPM
	for left := int(30 / tick); left > 0 && r.kmh() < kmh; left-- {
		r.foot = 1
		if r.ranAway(2.5) {
			break
		}
		if r.rpm() > limit-250 && r.gear < len(r.ks)-1 {
			r.change(1)
		}
		r.step()
	}
	r.foot = 0
}
