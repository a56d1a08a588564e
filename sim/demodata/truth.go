package main

import (
	"math"
	"path/filepath"

	"flywitness/sim"
)

// truth is what truth.json says: what was so, whatever a measurement makes of it.
type truth struct {
	InertiaBefore  float64     `json:"inertia_before_kgm2"`
	InertiaAfter   float64     `json:"inertia_after_kgm2"`
	Change         float64     `json:"inertia_change_kgm2"`
	Ratio          float64     `json:"inertia_ratio_before_over_after"`
	ByGear         []gearTruth `json:"by_gear"`
	Mass           float64     `json:"mass_kg"`
	CapacityBefore float64     `json:"clutch_capacity_before_nm"`
	CapacityAfter  float64     `json:"clutch_capacity_after_nm"`
	PeakTorque     float64     `json:"engine_peak_torque_nm"`
	Sessions       []sitting   `json:"sessions"`
}

type gearTruth struct {
	Gear           int     `json:"gear"`
	EquivalentMass float64 `json:"equivalent_mass_kg"`
}

type sitting struct {
	Path       string      `json:"path"`
	DurationS  float64     `json:"duration_s"`
	DragFactor float64     `json:"drag_factor"`
	Pulls      []pullTruth `json:"pulls"`
	Slips      []slipTruth `json:"slips"`
}

type pullTruth struct {
	StartS     float64 `json:"start_s"`
	EndS       float64 `json:"end_s"`
	Gear       int     `json:"gear"`
	PeakTorque float64 `json:"peak_torque_nm"`
}

type slipTruth struct {
	StartS      float64 `json:"start_s"`
	EndS        float64 `json:"end_s"`
	Gear        int     `json:"gear"`
	PeakPct     float64 `json:"peak_slip_pct"`
	MeanPct     float64 `json:"mean_slip_pct"`
	PeakRPM     float64 `json:"peak_slip_rpm"`
	OnsetTorque float64 `json:"onset_torque_nm"`
	EnergyJ     float64 `json:"energy_j"`
}

func newTruth(before, after sim.Car) *truth {
	t := &truth{
		InertiaBefore: before.Inertia, InertiaAfter: after.Inertia, Change: milli(after.Inertia - before.Inertia),
		Ratio: before.Inertia / after.Inertia, Mass: before.Vehicle.Mass,
		CapacityBefore: before.Clutch.Capacity, CapacityAfter: after.Clutch.Capacity,
	}
	t.PeakTorque, _ = before.Engine.PeakNm()
	for g := range before.Vehicle.Gearbox.Ratios {
		t.ByGear = append(t.ByGear, gearTruth{g + 1, milli(before.EquivalentMass(-t.Change, g+1))})
	}
	return t
}

// told is what truly happened in one session. Slip below a quarter of a second is left out: nobody could log it.
func told(path string, tr *sim.Truth) sitting {
	s := sitting{Path: filepath.ToSlash(path), DurationS: milli(tr.Duration()), DragFactor: tr.DragFactor, Slips: []slipTruth{}}
	for _, l := range tr.Labelled("pull") {
		p := pullTruth{StartS: milli(l.StartS), EndS: milli(l.EndS), Gear: l.Gear}
		for i := tr.At(l.StartS); i <= tr.At(l.EndS); i++ {
			if tr.Clutch[i] == sim.Stuck && int(tr.Gear[i]) == l.Gear {
				p.PeakTorque = max(p.PeakTorque, tr.ClutchTorqueNm[i])
			}
		}
		p.PeakTorque = milli(p.PeakTorque)
		s.Pulls = append(s.Pulls, p)
	}
	for _, e := range tr.Events {
		if e.EndS-e.StartS >= 0.25 {
			s.Slips = append(s.Slips, slipTruth{milli(e.StartS), milli(e.EndS), e.Gear, milli(e.PeakPct), milli(e.MeanPct),
				milli(e.PeakRPM), milli(e.OnsetNm), milli(e.EnergyJ)})
		}
	}
	return s
}

func milli(x float64) float64 { return math.Round(x*1000) / 1000 }
