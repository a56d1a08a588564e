package air

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/vehicle"
)

// Finding is the pulls of a job in standard air, beside what was measured.
type Finding struct {
	Method Method `json:"method"`
	Reason string `json:"reason,omitempty"` // why nothing is corrected; "" where something is
	Pulls  []Pull `json:"pulls"`

	Without []string `json:"sides_without"` // sides with logs and no such pull
}

// Pull is one pull at full load that the clutch held. Torque is the largest that went through the clutch.
type Pull struct {
	Side   string          `json:"side"`
	Input  int             `json:"input"` // log of its side, from 0
	Start  float64         `json:"start_s"`
	End    float64         `json:"end_s"`
	Gear   int             `json:"gear"`
	Torque *stats.Estimate `json:"peak_torque_nm"`

	PressureKPa *float64        `json:"air_pressure_kpa"`
	TempC       *float64        `json:"air_temp_c"`
	Inlet       bool            `json:"air_temp_of_intake"`
	Factor      *stats.Estimate `json:"factor"`
	Standard    *stats.Estimate `json:"standard_torque_nm"`
	Reason      string          `json:"reason,omitempty"` // why it is not corrected
}

// Correct brings pulls to standard air with the channels of their logs; logs[side] are those of a side. An
// engine that is charged, or burns no petrol, or of which nobody says how it breathes, is left as it is: the
// formulas are not for it.
func Correct(m Method, v *vehicle.Vehicle, pulls []Pull, logs map[string][]*drive.Log) *Finding {
	f := &Finding{Method: m, Pulls: []Pull{}, Without: []string{}}
	switch {
	case v == nil || v.Engine.Aspiration == "":
		f.Reason = "the vehicle file does not say how the engine breathes: give [engine] aspiration = \"natural\" if it " +
			"is not charged"
	case v.Engine.Aspiration != vehicle.Natural:
		f.Reason = "the engine is charged: the formula holds for engines that breathe by themselves"
	case v.Engine.Fuel != "petrol":
		f.Reason = "the formula holds for petrol engines: give [engine] fuel = \"petrol\" if it is one"
	case len(pulls) == 0:
		f.Reason = "there is no pull at full load whose torque is known"
	}
	if f.Reason != "" {
		return f
	}
	for _, p := range pulls {
		if p.Input < 0 || p.Input >= len(logs[p.Side]) {
			continue
		}
		p.correct(m, logs[p.Side][p.Input])
		f.Pulls = append(f.Pulls, p)
	}
	for _, side := range slices.Sorted(maps.Keys(logs)) {
		if len(logs[side]) > 0 && !slices.ContainsFunc(f.Pulls, func(p Pull) bool { return p.Side == side }) {
			f.Without = append(f.Without, side)
		}
	}
	return f
}

// How well the air's temperature is known, C. A sensor outside sits behind the bumper; one in the intake is
// warmed by the engine bay. Common practice, no source.
const (
	outsideSD = 2
	intakeSD  = 5
)

// charged is by how much the intake's pressure may exceed the air's before the engine counts as charged, kPa:
// two sensors differ by a few.
const charged = 8

func (p *Pull) correct(m Method, l *drive.Log) {
	pressure, ok := around(l, drive.BarometricPressure, p)
	if !ok {
		p.Reason = "the log has no air pressure (barometric_pressure_kpa)"
		return
	}
	p.PressureKPa = &pressure
	if top, ok := highest(l, drive.IntakePressure, p); ok && top > pressure+charged {
		p.Reason = fmt.Sprintf("the intake's pressure rose to %.0f kPa: the engine is charged", top)
		return
	}
	c := Conditions{PressureKPa: pressure, TempSD: outsideSD}
	if c.TempC, ok = around(l, drive.AmbientTemp, p); !ok {
		c.TempSD, c.Inlet = intakeSD, true
		if c.TempC, ok = around(l, drive.IntakeTemp, p); !ok {
			p.Reason = "the log has no temperature of the air (ambient_temp_c or intake_temp_c)"
			return
		}
	}
	p.TempC, p.Inlet = &c.TempC, c.Inlet
	factor, err := m.Correct(c)
	if err != nil {
		p.Reason = err.Error()
		return
	}
	p.Factor = factor
	p.Standard = product(p.Torque, factor)
}

// product multiplies two independent estimates.
func product(a, b *stats.Estimate) *stats.Estimate {
	value := a.Value * b.Value
	sd := value * math.Hypot(a.SD/a.Value, b.SD/b.Value)
	return stats.Normal(value, sd)
}

// nearby is how long before and after a pull the air is still that of the pull, s: it changes slowly, and cars
// tell it seldom.
const nearby = 300

// around is the median of a channel about a pull; ok is false where there is no value.
func around(l *drive.Log, name string, p *Pull) (float64, bool) {
	var values []float64
	if c := l.Channel(name); c != nil {
		for i, t := range c.T {
			if t >= p.Start-nearby && t <= p.End+nearby {
				values = append(values, c.V[i])
			}
		}
	}
	if len(values) == 0 {
		return 0, false
	}
	return stats.Median(values), true
}

// highest is the largest value of a channel in a pull.
func highest(l *drive.Log, name string, p *Pull) (float64, bool) {
	var values []float64
	if c := l.Channel(name); c != nil {
		for i, t := range c.T {
			if t >= p.Start && t <= p.End {
				values = append(values, c.V[i])
			}
		}
	}
	if len(values) == 0 {
		return 0, false
	}
	return slices.Max(values), true
}
