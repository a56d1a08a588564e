// Package gearing settles which gearing of a car torque and equivalent mass rest on: that of the vehicle file,
// or that which the log teaches. Engine speed per road speed of a gear is all of ratio, final drive and tyre
// that either needs.
package gearing

import (
	"math"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/stats"
	"flywitness/finding"
	"flywitness/vehicle"
)

// Source is where the gearing comes from.
type Source string

// The sources.
const (
	FromFile Source = "vehicle_file"
	FromLog  Source = "log"
)

const (
	// Scale errors of a road speed, relative. Common practice, no source.
	displaySD   = vehicle.LearntGearingSD
	satelliteSD = 0.005
	// apart is how many standard deviations of both the file may lie from the log before it is the file that is wrong.
	apart = 2.5
	// dialMost is by how much (%) a dial may read too high; none may read too low (UN Regulation 39, from memory: a
	// tenth and 4 km/h). The file may be right then. dialShare of the difference is the standard deviation: the truth
	// may lie at either end.
	dialMost  = 10.0
	dialShare = 0.75
	// ratioApart is how far one ratio may lie from the others, on the log's scale, before it is mistyped and not rounded.
	ratioApart = 0.025
)

// Told is what the gearing rests on.
type Told struct {
	Source Source `json:"source"`
	// by how much the vehicle file's gearing lies from the log's; nil without either
	OffPct   *float64     `json:"off_pct"`
	SDPct    float64      `json:"sd_pct"` // of engine speed per road speed
	Gears    []int        `json:"gears"`  // known ones
	Wrong    bool         `json:"file_contradicted"`
	Sentence finding.Text `json:"sentence"` // for the reader where the log had to stand in
}

// Settle returns the vehicle with the gearing that stands, and what it rests on. veh may be nil: the vehicle
// returned then has gearing and nothing else. Neither a file's gearing nor a learnt one leaves it as it is,
// with nil. Nothing given is changed.
func Settle(veh *vehicle.Vehicle, cal *calibrate.Calibration) (*vehicle.Vehicle, *Told) {
	taught := taughtBy(cal)
	learnt := ladder(taught)
	sd := displaySD
	if cal != nil && cal.SpeedSource == "gps" {
		sd = satelliteSD
	}
	filed := filedLadder(veh)
	switch {
	case len(learnt) == 0 && len(filed) == 0:
		return veh, nil
	case len(learnt) == 0:
		return veh, &Told{Source: FromFile, SDPct: 100 * vehicle.PaperGearingSD, Gears: gears(filed)}
	case len(filed) == 0:
		t := &Told{Source: FromLog, SDPct: 100 * sd, Gears: gears(learnt)}
		t.Sentence = finding.Say(finding.New(finding.GearingFromLog, finding.Pct("error", 100*sd)))
		return withLadder(veh, learnt, sd), t
	}
	var off, known []float64
	for g, k := range learnt {
		if filed[g] > 0 {
			off, known = append(off, math.Log(filed[g]/k)), append(known, knownTo(taught[g]))
		}
	}
	if len(off) == 0 { // no gear is known to both
		return veh, &Told{Source: FromFile, SDPct: 100 * vehicle.PaperGearingSD, Gears: gears(filed)}
	}
	scale := stats.Median(off)
	sd = math.Hypot(sd, stats.Median(known)) // a log of walking pace shows no gear to better than some per cent
	pct := 100 * math.Expm1(scale)
	if math.Abs(scale) > apart*math.Hypot(sd, math.Max(vehicle.PaperGearingSD, veh.Gearbox.GearingSD)) {
		dial := pct > 0 && pct <= dialMost && (cal == nil || cal.SpeedSource != "gps")
		if dial {
			sd = math.Hypot(sd, dialShare*scale)
		}
		t := &Told{Source: FromLog, OffPct: &pct, SDPct: 100 * sd, Wrong: true}
		whole := complete(learnt, filed, scale)
		t.Gears = gears(whole)
		t.Sentence = finding.Say(finding.New(finding.GearingContradicted, finding.Pct("off", math.Abs(pct)),
			finding.Flag("faster", pct > 0), finding.Flag("dial", dial)))
		return withLadder(veh, whole, sd), t
	}
	return mend(veh, taught, filed, scale, pct)
}

// mend takes the place of single ratios of the file that the log contradicts, in gears that were really driven.
func mend(veh *vehicle.Vehicle, taught map[int]calibrate.Gear, filed map[int]float64,
	scale, pct float64) (*vehicle.Vehicle, *Told) {
	t := &Told{Source: FromFile, OffPct: &pct, SDPct: 100 * vehicle.PaperGearingSD, Gears: gears(filed)}
	v := *veh
	v.Gearbox.Ratios = append([]float64(nil), veh.Gearbox.Ratios...)
	for i := range v.Gearbox.Ratios {
		g := taught[i+1]
		if g.Seconds < calibrate.WellDriven || filed[i+1] == 0 {
			continue
		}
		q := math.Log(filed[i+1]/g.RPMPerKmh.Value) - scale
		if math.Abs(q) <= math.Max(ratioApart, apart*knownTo(g)) {
			continue
		}
		was := v.Gearbox.Ratios[i]
		v.Gearbox.Ratios[i] = was * math.Exp(-q)
		t.Wrong = true
		t.Sentence = finding.Say(finding.New(finding.GearingContradicted, finding.Gear(i+1), finding.Number("filed", was),
			finding.Number("shown", v.Gearbox.Ratios[i])))
	}
	if !t.Wrong {
		return veh, t
	}
	return &v, t
}

// taughtBy is the gears that the log taught, by number.
func taughtBy(cal *calibrate.Calibration) map[int]calibrate.Gear {
	out := map[int]calibrate.Gear{}
	if cal != nil {
		for _, g := range cal.Gears {
			out[g.Gear] = g
		}
	}
	return out
}

// ladder is engine rpm per km/h of gears.
func ladder(taught map[int]calibrate.Gear) map[int]float64 {
	out := map[int]float64{}
	for number, g := range taught {
		out[number] = g.RPMPerKmh.Value
	}
	return out
}

// knownTo is the relative standard deviation of a gear that the log taught.
func knownTo(g calibrate.Gear) float64 { return g.RPMPerKmh.SD / g.RPMPerKmh.Value }

func filedLadder(veh *vehicle.Vehicle) map[int]float64 {
	out := map[int]float64{}
	if veh == nil {
		return out
	}
	for g := range veh.Gearbox.Ratios {
		if k := veh.RPMPerKmh(g + 1); k > 0 {
			out[g+1] = k
		}
	}
	return out
}

// complete adds the gears that were not driven in, from the file on the log's scale.
func complete(learnt, filed map[int]float64, scale float64) map[int]float64 {
	out := map[int]float64{}
	for g, k := range filed {
		out[g] = k * math.Exp(-scale)
	}
	for g, k := range learnt {
		out[g] = k
	}
	return out
}

// withLadder is the vehicle with total ratios that give a ladder on its own rolling circumference.
func withLadder(veh *vehicle.Vehicle, ladder map[int]float64, sd float64) *vehicle.Vehicle {
	v := vehicle.Vehicle{}
	if veh != nil {
		v = *veh
	}
	if v.RollingCircumference <= 0 {
		v.RollingCircumference = vehicle.NominalCircumference
	}
	top := 0
	for g := range ladder {
		top = max(top, g)
	}
	v.Gearbox.Ratios = make([]float64, top)
	v.Gearbox.FinalDrive, v.Gearbox.GearingSD = 1, sd
	for g, k := range ladder {
		v.Gearbox.Ratios[g-1] = k * v.RollingCircumference * 0.06
	}
	return &v
}

func gears(ladder map[int]float64) []int {
	var out []int
	for g := range 30 {
		if ladder[g] > 0 {
			out = append(out, g)
		}
	}
	return out
}
