package part

import (
	"fmt"
	"strconv"
	"strings"

	"flywitness/analysis/stats"
)

// Finding is what the bench tells of a part, or of an old and a new one.
type Finding struct {
	Method    string          `json:"method"` // rings | pendulum | weight | clutch
	Name      string          `json:"name,omitempty"`
	Inertia   *stats.Estimate `json:"inertia_kgm2"`        // of the part, or of the one before
	After     *stats.Estimate `json:"after_inertia_kgm2"`  // of the one after
	Change    *stats.Estimate `json:"inertia_change_kgm2"` // after minus before
	Range     *[2]float64     `json:"inertia_range_kgm2"`  // where no number can be had
	Mass      *stats.Estimate `json:"mass_kg"`             // of a part made of rings
	Budget    []Share         `json:"budget"`              // of the change where there is one
	ByGear    []GearMass      `json:"by_gear"`             // what the change is worth, given a vehicle
	Capacity  *Capacity       `json:"capacity"`            // of a clutch
	OtherSize *Capacity       `json:"other_capacity"`      // of the clutch it is set against
	Ratio     *stats.Estimate `json:"capacity_ratio_new_over_old"`
	ClampFor  *float64        `json:"clamp_for_torque_n"` // that a stated torque needs
}

// JobBlock returns the finding as a [[part]] of a job file, "" when it has no change to state. A job file
// states a standard deviation alone, so the one written gives the interval of the change, which few repeats
// widen.
func (f *Finding) JobBlock() string {
	if f.Change == nil || f.Inertia == nil || f.After == nil {
		return ""
	}
	sd := normalSD(f.Change)
	var b strings.Builder
	b.WriteString("[[part]]\n")
	fmt.Fprintf(&b, "name = %s\n", strconv.Quote(strings.Map(printable, f.Name)))
	fmt.Fprintf(&b, "before_inertia_kgm2 = %.5f\nafter_inertia_kgm2 = %.5f\ninertia_change_sd_kgm2 = %.5f\n",
		f.Inertia.Value, f.After.Value, sd)
	return b.String()
}

// normalSD is the standard deviation of a normal error with the interval of e.
func normalSD(e *stats.Estimate) float64 { return (e.CI95[1] - e.CI95[0]) / (2 * stats.Normal975) }

func printable(r rune) rune {
	if r < ' ' || r > '~' {
		return '?'
	}
	return r
}
