package live

import (
	"fmt"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/drag"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/inertia"
	"flywitness/analysis/slip"
	"flywitness/drive"
	"flywitness/finding"
	"flywitness/vehicle"
)

// Kind of a run that can be driven for the analysis.
type Kind string

// The kinds. InGear is falling in gear with the accelerator released, Coast is rolling in neutral.
const (
	FreeRev Kind = "free rev"
	Pull    Kind = "pull"
	InGear  Kind = "off-throttle in gear"
	Coast   Kind = "neutral coast"
	Hold    Kind = "hold"
)

// Run is a run as the analysis judges it. Times are s of the recording.
type Run struct {
	Kind       Kind
	Gear       int // 0 in neutral
	Start, End float64
	Used       bool
	Why        finding.Text // why it is not used
	Slips      bool         // a pull in which the clutch slipped for sure
	HeatJ      float64      // that the slip left in the clutch, a lower bound
	RPM        float64      // of a hold
	Flow       float64      // that held it, in the unit of the car's channel; 0 where it is not known
}

func (r Run) String() string {
	if r.Kind == Hold {
		return fmt.Sprintf("%s at %.0f rpm", r.Kind, r.RPM)
	}
	if r.Gear > 0 {
		return fmt.Sprintf("%s in gear %d", r.Kind, r.Gear)
	}
	return string(r.Kind)
}

// Judge judges recordings of one car.
type Judge struct {
	Vehicle *vehicle.Vehicle // may be nil
	Inertia inertia.Options
	Slip    slip.Options
}

// gearbox is the kind of gearbox that was told, "" when nobody said it.
func (j *Judge) gearbox() vehicle.GearboxType {
	if j.Vehicle != nil && j.Vehicle.Gearbox.Type != "" {
		return j.Vehicle.Gearbox.Type
	}
	return j.Slip.Gearbox
}

// Runs returns all runs of a recording, in the order of the analysis. The inertia itself, which costs most, is left to the analysis
// afterwards: without a vehicle Measure only finds and judges the runs.
func (j *Judge) Runs(l *drive.Log) []Run {
	logs := []*drive.Log{l}
	cal, _ := calibrate.Learn(logs, j.Vehicle)
	tracks := []*gearstate.Track{cal.Decode(l)}
	s, _ := slip.Judge(logs, tracks, j.Vehicle, cal, j.Slip)
	f, _ := inertia.Measure(logs, nil, cal, j.Inertia)
	return append(append(inertiaRuns(f), pulls(s)...), j.holds(logs, f)...)
}

// holds are the stretches in which the standing engine was held at a speed.
func (j *Judge) holds(logs []*drive.Log, f *inertia.Finding) (out []Run) {
	side := drag.Measure(logs, nil, f, j.Vehicle != nil && j.Vehicle.Engine.Fuel == "diesel", false)
	if !side.Held() {
		return nil
	}
	for _, h := range side.Holds {
		r := Run{Kind: Hold, Start: h.Start, End: h.End, Used: h.Used, Why: h.WhyNot, RPM: h.RPM}
		if h.Flow != nil {
			r.Flow = *h.Flow
		}
		out = append(out, r)
	}
	return out
}

func inertiaRuns(f *inertia.Finding) []Run {
	if f == nil {
		return nil
	}
	kinds := map[inertia.Kind]Kind{inertia.RevDown: FreeRev, inertia.Overrun: InGear, inertia.Coast: Coast}
	var out []Run
	for _, r := range f.Runs {
		if kind, ok := kinds[r.Kind]; ok {
			out = append(out, Run{Kind: kind, Gear: r.Gear, Start: r.Start, End: r.End, Used: r.Used, Why: r.WhyNot})
		}
	}
	return out
}

// pulls: one that shows whether the clutch holds or slips is of use.
func pulls(f *slip.Finding) []Run {
	if f == nil {
		return nil
	}
	var out []Run
	for _, p := range f.Pulls {
		r := Run{Kind: Pull, Gear: p.Gear, Start: p.Start, End: p.End, Used: p.Verdict != slip.Inconclusive, Slips: p.Verdict == slip.Slips}
		if !r.Used {
			r.Why = p.Reason
		}
		if p.Heat != nil {
			r.HeatJ = *p.Heat
		}
		out = append(out, r)
	}
	return out
}
