package sim

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"math/rand/v2"

	"flywitness/drive"
)

// WriteSession records a drive into a new session file at path (docs/session-format.md), stamps to the millisecond.
// meta needs the key created.
func (lg Logger) WriteSession(path string, meta []drive.Field, tr *Truth, rng *rand.Rand) error {
	w, err := drive.CreateSession(path, meta, lg.names(tr))
	if err != nil {
		return err
	}
	for _, r := range lg.Poll(tr, rng) {
		cells := make([]drive.Cell, 0, len(r.Readings)+1)
		for _, v := range r.Readings {
			cells = append(cells, drive.Cell{Channel: w.Index(v.Channel), Value: hundredth(v.Value)})
		}
		cells = append(cells, drive.Cell{Channel: w.Index(drive.Latency), Value: math.Round(r.LatencyMS)})
		if err := w.WriteRow(math.Round(r.T*1000)/1000, cells); err != nil {
			w.Close()
			return err
		}
	}
	return w.Close()
}

func hundredth(x float64) float64 { return math.Round(x*100) / 100 }

// names returns the channels in the order of polling.
func (lg Logger) names(tr *Truth) []string {
	return append(append([]string(nil), lg.fast(tr)...), lg.slow(tr)...)
}

// WriteCSV writes the log of an old recorder: every reply is a row of all values, old ones repeated until a new one
// comes, with its own headings. Time is in seconds, whole ones when WholeSecondStamps is set. A value not seen yet is
// an empty cell.
func (lg Logger) WriteCSV(w io.Writer, tr *Truth, rng *rand.Rand) error {
	names := lg.names(tr)
	b := bufio.NewWriter(w)
	fmt.Fprint(b, "Time (s)")
	column := make(map[string]int, len(names))
	for i, n := range names {
		fmt.Fprintf(b, ",%s", heading(n))
		column[n] = i
	}
	fmt.Fprintln(b)
	cells := make([]string, len(names))
	for _, r := range lg.Poll(tr, rng) {
		for _, v := range r.Readings {
			cells[column[v.Channel]] = fmt.Sprint(hundredth(v.Value))
		}
		if lg.WholeSecondStamps {
			fmt.Fprintf(b, "%.0f", r.T)
		} else {
			fmt.Fprintf(b, "%.3f", r.T)
		}
		for _, c := range cells {
			fmt.Fprintf(b, ",%s", c)
		}
		fmt.Fprintln(b)
	}
	return b.Flush()
}

// heading is how a recorder of that kind heads a column.
func heading(name string) string {
	switch name {
	case drive.EngineSpeed:
		return "Engine RPM (rpm)"
	case drive.VehicleSpeed:
		return "Vehicle speed (km/h)"
	case drive.Throttle:
		return "Throttle position (%)"
	case drive.EngineLoad:
		return "Engine load (%)"
	case drive.CoolantTemp:
		return "Coolant temperature (C)"
	case drive.OilTemp:
		return "Oil temperature (C)"
	case drive.IntakePressure:
		return "Intake pressure (kPa)"
	}
	return name
}
