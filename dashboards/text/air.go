package text

import (
	"fmt"
	"math"

	"flywitness/analysis/air"
	"flywitness/figure"
)

// AirTable is the pulls of a result in standard air, each beside what was measured.
type AirTable struct {
	Title string
	Head  []string
	Rows  [][]string
	Notes []string
}

// StandardAir puts pulls in standard air into words; nil where nobody asked for them.
func StandardAir(f *air.Finding, u figure.Units) *AirTable {
	if f == nil {
		return nil
	}
	t := &AirTable{Title: "Pulls in standard air (" + f.Method.Name() + ")"}
	if f.Reason != "" {
		t.Notes = []string{"Nothing was brought to standard air: " + f.Reason + "."}
		return t
	}
	t.Head = []string{"pull", "gear", "as measured", "air", "factor", "in standard air"}
	seen := map[string]bool{}
	for _, p := range f.Pulls {
		row := []string{fmt.Sprintf("%s, log %d, %s", p.Side, p.Input+1, clock(p.Start)), fmt.Sprint(p.Gear), u.Uncertain(p.Torque, "N m"), "–", "–", "–"}
		if p.PressureKPa != nil && p.TempC != nil {
			row[3] = figure.Round(*p.PressureKPa, 1) + " kPa, " + u.Number(*p.TempC, 5, "C")
		}
		if p.Standard != nil {
			row[4], row[5] = figure.Round(p.Factor.Value, 3), u.Uncertain(p.Standard, "N m")
		} else if !seen[p.Reason] {
			seen[p.Reason] = true
			t.Notes = append(t.Notes, "Not corrected: "+p.Reason+".")
		}
		t.Rows = append(t.Rows, row)
	}
	for _, side := range f.Without {
		t.Notes = append(t.Notes, "No pull "+side+" the job can stand beside them: none was at full load with a clutch that held and a known torque.")
	}
	t.Notes = append(t.Notes, "The torque is the largest that went through the clutch in the pull. The factor is one for the air of the standard; no car logs the humidity, "+
		"which is left open in the deviation. The verdict on the clutch rests on the torque as measured.")
	return t
}

// clock writes seconds of a log as minutes and seconds.
func clock(s float64) string {
	whole := int(math.Max(0, s))
	return fmt.Sprintf("%d:%02d", whole/60, whole%60)
}
