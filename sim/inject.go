package sim

import "math"

// InjectSlip adds slip that no physics made to a healthy stretch: from start s on for dur s the engine runs pct % above
// its locked speed, with flanks of 0.3 s (a trapezoid). The road speed stays. It serves proofs of detection, where the
// size must be exact; ClutchTorqueNm and EngineTorque are left as they were.
func (tr *Truth) InjectSlip(start, dur, pct float64) {
	const flank = 0.3
	tr.InjectShape(start, dur, func(t float64) float64 { return pct / 100 * min(1, (t-start)/flank, (start+dur-t)/flank) })
}

// InjectShape is InjectSlip with slip, as a share of engine speed, any function of the drive's time in s; nothing is added where it is not
// positive.
func (tr *Truth) InjectShape(start, dur float64, slip func(t float64) float64) {
	from, to := tr.At(start), tr.At(start+dur)
	for i := from; i <= to; i++ {
		s := slip(tr.T[i])
		if s <= 0 {
			continue
		}
		gain := 1 / (1 - s)
		tr.EngineRPM[i] *= gain
		tr.ReportedRPM[i] *= gain
		tr.SlipPct[i] = 100 * s
		tr.Clutch[i] = Slipping
	}
	i, j := from, to
	for i < j && math.Abs(tr.SlipPct[i]) < slipEdge {
		i++
	}
	for j > i && math.Abs(tr.SlipPct[j]) < slipEdge {
		j--
	}
	if e, ok := tr.event(i, j+1, false); ok {
		e.Injected = true
		e.OnsetNm = tr.ClutchTorqueNm[i]
		tr.Events = append(tr.Events, e)
	}
}
