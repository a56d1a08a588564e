package analysis

import (
	"flywitness/analysis/air"
	"flywitness/analysis/slip"
	"flywitness/drive"
)

// ToStandardAir adds the pulls of both sides in standard air to a comparison or a job: those at full load that
// the clutch held, since air sets the torque of an open throttle alone and a slipping clutch does not pass it
// on. On rollers no torque is known from the road, so there is none.
func (r *Result) ToStandardAir(m air.Method, before, after Set) {
	var pulls []air.Pull
	logs := map[string][]*drive.Log{}
	v := after.Vehicle
	if v == nil {
		v = before.Vehicle
	}
	for _, side := range []struct {
		set  Set
		name string
		slip *slip.Finding
	}{{before, "before", r.Compare.SlipBefore}, {after, "after", r.Compare.SlipAfter}} {
		logs[side.name] = side.set.Logs
		if side.slip == nil {
			continue
		}
		for _, p := range side.slip.Pulls {
			if p.Verdict == slip.Holds && p.FullLoad && p.PeakTorque != nil && p.PeakTorque.Value > 0 {
				pulls = append(pulls, air.Pull{Side: side.name, Input: p.Input, Start: p.Start, End: p.End, Gear: p.Gear,
					Torque: p.PeakTorque})
			}
		}
	}
	r.StandardAir = air.Correct(m, v, pulls, logs)
}
