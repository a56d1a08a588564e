package sim

import "math"

const (
	slipEdge      = 1.0  // % at which an event begins and ends
	shortestEvent = 0.08 // s; below, breaking away and catching again is chatter
	unlockedEvent = 1.5  // s; a healthy clutch needs a moment to lock after the pedal is up, under full load
)

// report turns the crank angle kept in ReportedRPM into the speed that the control unit reports: the mean over a
// crank angle, then a first-order filter.
func (tr *Truth) report() {
	angle := append([]float64(nil), tr.ReportedRPM...)
	span := tr.car.RPMAverageDeg * math.Pi / 180
	keep := 0.0
	if tr.car.RPMFilter > 0 {
		keep = math.Exp(-tr.Step / tr.car.RPMFilter)
	}
	j := 0
	y := 0.0
	for i := range angle {
		mean := tr.EngineRPM[i]
		if span > 0 {
			for j < i && angle[j+1] < angle[i]-span {
				j++
			}
			mean = meanSpeed(angle, i, j, span, tr.Step, mean)
		}
		if i == 0 {
			y = mean
		}
		y = keep*y + (1-keep)*mean
		tr.ReportedRPM[i] = y
	}
}

// meanSpeed returns the mean speed in rpm over the last span rad of crank angle before sample i; j is the last sample
// before that span.
func meanSpeed(angle []float64, i, j int, span, step, now float64) float64 {
	if i == 0 || angle[i]-angle[j] < span || j+1 > i {
		return now
	}
	gap := angle[j+1] - angle[j]
	if gap <= 0 {
		return now
	}
	start := float64(j) + (angle[i]-span-angle[j])/gap
	return span / ((float64(i) - start) * step) / radPerRPM
}

// findSlip fills Events and Engagements from the samples.
func (tr *Truth) findSlip() {
	n := len(tr.T)
	locked := true // has locked since the pedal was last down
	var eng *Engagement
	last := 0
	for i := 0; i < n; i++ {
		inGear := tr.Gear[i] > 0
		footOff := tr.Engagement[i] >= 1
		if !footOff || !inGear {
			locked = false
		}
		if inGear && tr.Clutch[i] == Stuck {
			locked = true
		}
		eng = tr.engage(eng, i, &last)
		if !inGear || !footOff || math.Abs(tr.SlipPct[i]) < slipEdge {
			continue
		}
		j := tr.slipEnd(i)
		if e, ok := tr.event(i, j, !locked); ok {
			tr.Events = append(tr.Events, e)
		}
		for k := i; k < j; k++ {
			eng = tr.engage(eng, k, &last)
		}
		i = j - 1
		if j < n && tr.Clutch[j] == Stuck {
			locked = true
		}
	}
}

// slipEnd returns the sample at which slip that began at i is over.
func (tr *Truth) slipEnd(i int) int {
	g := tr.Gear[i]
	for i < len(tr.T) && tr.Gear[i] == g && tr.Engagement[i] >= 1 && math.Abs(tr.SlipPct[i]) >= slipEdge {
		i++
	}
	return i
}

// event describes slip over the samples i to j.
func (tr *Truth) event(i, j int, fromEngagement bool) (SlipEvent, bool) {
	e := SlipEvent{StartS: tr.T[i], EndS: tr.T[j-1], Gear: int(tr.Gear[i]), FromEngagement: fromEngagement}
	e.OnsetNm = tr.ClutchTorqueNm[i]
	if !fromEngagement {
		e.OnsetNm = tr.breakaway(i)
	}
	sum := 0.0
	for k := i; k < j; k++ {
		slip := tr.SlipPct[k]
		dw := tr.EngineRPM[k] * slip / 100
		sum += slip
		if math.Abs(slip) > math.Abs(e.PeakPct) {
			e.PeakPct = slip
		}
		e.PeakRPM = max(e.PeakRPM, math.Abs(dw))
		e.EnergyJ += math.Abs(tr.ClutchTorqueNm[k]*dw) * radPerRPM * tr.Step
	}
	e.MeanPct = sum / float64(j-i)
	shortest := shortestEvent
	if fromEngagement {
		shortest = unlockedEvent
	}
	return e, float64(j-i)*tr.Step >= shortest
}

// breakaway returns the torque that the clutch carried just before it let go ahead of sample i.
func (tr *Truth) breakaway(i int) float64 {
	for k := i; k >= 0 && k > i-100; k-- {
		if tr.Clutch[k] == Stuck {
			return tr.ClutchTorqueNm[k]
		}
	}
	return tr.ClutchTorqueNm[i]
}

// engage follows one meeting of engine and gearbox: it opens when a gear is in and the clutch bites with the pedal
// not up, and closes when the speeds have met.
func (tr *Truth) engage(e *Engagement, i int, last *int) *Engagement {
	slipping := tr.Gear[i] > 0 && tr.Clutch[i] == Slipping
	if e == nil {
		if !slipping || tr.Engagement[i] >= 1 {
			if tr.Gear[i] > 0 && tr.Clutch[i] == Stuck {
				*last = int(tr.Gear[i])
			}
			return nil
		}
		e = &Engagement{StartS: tr.T[i], Gear: int(tr.Gear[i]), Kind: "upshift"}
		if tr.GroundKmh[i] < 3 {
			e.Kind = "launch"
		} else if e.Gear < *last {
			e.Kind = "downshift"
		}
	}
	if slipping {
		dw := tr.EngineRPM[i] * tr.SlipPct[i] / 100 * radPerRPM
		e.EnergyJ += math.Abs(tr.ClutchTorqueNm[i]*dw) * tr.Step
		return e
	}
	e.EndS = tr.T[i]
	if e.EndS-e.StartS > 0.05 && e.EnergyJ > 20 {
		tr.Engagements = append(tr.Engagements, *e)
	}
	if tr.Gear[i] > 0 && tr.Clutch[i] == Stuck {
		*last = int(tr.Gear[i])
	}
	return nil
}
