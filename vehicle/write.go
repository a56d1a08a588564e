package vehicle

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"flywitness/vehicle/tomlfile"
)

// Gearing is one rung of a gear ladder as learnt from a log: engine speed per displayed km/h.
type Gearing struct {
	Gear      int
	RPMPerKmh float64
	SD        float64 // of RPMPerKmh, 0 when not known
}

// WriteTOML writes a vehicle file that Load reads again. What v does not give is written as a comment with an example, so
// that a person can fill it in. The learnt ladder is written where it is whole from first gear up and v has no ratios of its own; a ladder with a gap
// is told in comments.
// A clock, a tool name and the like belong to the caller: head is written first, each line as a comment.
func WriteTOML(w io.Writer, v *Vehicle, learnt []Gearing, head ...string) error {
	var b strings.Builder
	for _, line := range head {
		b.WriteString("# " + strings.Join(strings.Fields(line), " ") + "\n")
	}
	v.writeCar(&b)
	v.writeEngine(&b)
	v.writeGearbox(&b, learnt)
	if r := v.RoadLoad; r != nil {
		b.WriteString("\n[road_load]\n")
		fmt.Fprintf(&b, "f0_n = %s\nf1_n_per_mps = %s\nf2_n_per_mps2 = %s\n", float(r.F0), float(r.F1), float(r.F2))
	}
	if v.Clutch != nil {
		v.Clutch.write(&b)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// float writes a number that TOML reads back bit for bit.
func float(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }

// round4 writes a learnt figure with as many digits as anybody needs.
func round4(x float64) string { return strconv.FormatFloat(x, 'f', 4, 64) }

// line writes key = value, or a comment to fill in when there is no value; nothing where there is no word for it either.
func line(b *strings.Builder, key string, value float64, example string) {
	if value != 0 {
		fmt.Fprintf(b, "%s = %s\n", key, float(value))
	} else if example != "" {
		fmt.Fprintf(b, "# %s =%s\n", key, example)
	}
}

func (v *Vehicle) writeCar(b *strings.Builder) {
	b.WriteString("[vehicle]\n")
	if v.Name != "" {
		fmt.Fprintf(b, "name = %s\n", tomlfile.Quote(v.Name))
	}
	line(b, "mass_kg", v.Mass, "                # as tested: car, fuel, people")
	line(b, "mass_sd_kg", v.MassSD, "")
	if v.Weighed {
		b.WriteString("weighed = true\n")
	}
	if v.Tyre != "" {
		fmt.Fprintf(b, "tyre = %s\n", tomlfile.Quote(v.Tyre))
	} else if v.RollingCircumference == 0 {
		b.WriteString("# tyre =                   # the size on its side, or rolling_circumference_m\n")
	}
	if v.Gearbox.Learnt == nil || v.Tyre != "" || v.RollingCircumference != NominalCircumference {
		line(b, "rolling_circumference_m", v.RollingCircumference, "")
	}
	line(b, "wheel_inertia_kgm2", v.WheelInertia, "")
	line(b, "driven_wheels", float64(v.DrivenWheels), "             # 2 or 4")
	if v.SpeedSource != "" {
		fmt.Fprintf(b, "speed_source = %s\n", tomlfile.Quote(string(v.SpeedSource)))
	}
}

func (v *Vehicle) writeEngine(b *strings.Builder) {
	b.WriteString("\n[engine]\n")
	line(b, "idle_rpm", v.Engine.IdleRPM, "               # warm, at rest")
	line(b, "limit_rpm", v.Engine.LimitRPM, "              # where it cuts out")
	line(b, "peak_torque_nm", v.Engine.PeakTorque, "")
	if v.Engine.Fuel != "" {
		fmt.Fprintf(b, "fuel = %s\n", tomlfile.Quote(v.Engine.Fuel))
	} else {
		b.WriteString("# fuel =                   # petrol | diesel\n")
	}
	if v.Engine.Aspiration != "" {
		fmt.Fprintf(b, "aspiration = %s\n", tomlfile.Quote(v.Engine.Aspiration))
	} else {
		b.WriteString("# aspiration =             # natural | charged; only for standard air\n")
	}
	if v.Engine.Throttle != "" {
		fmt.Fprintf(b, "throttle = %s\n", tomlfile.Quote(v.Engine.Throttle))
	}
}

func (v *Vehicle) writeGearbox(b *strings.Builder, learnt []Gearing) {
	b.WriteString("\n[gearbox]\n")
	if v.Gearbox.Type != "" {
		fmt.Fprintf(b, "type = %s\n", tomlfile.Quote(string(v.Gearbox.Type)))
	} else {
		b.WriteString("# type =                   # manual | automatic | dual_clutch | cvt; a log does not tell\n")
	}
	for _, g := range learnt {
		if v.Gearbox.Learnt != nil {
			break
		}
		fmt.Fprintf(b, "# learnt gearing of gear %d: %s rpm per km/h", g.Gear, round4(g.RPMPerKmh))
		if g.SD > 0 {
			fmt.Fprintf(b, " (sd %s)", round4(g.SD))
		}
		b.WriteByte('\n')
	}
	whole := wholeLadder(learnt)
	switch {
	case v.Gearbox.Learnt != nil:
		fmt.Fprintf(b, "rpm_per_kmh = %s\n", list(v.Gearbox.Learnt, float))
	case len(v.Gearbox.Ratios) > 0:
		fmt.Fprintf(b, "ratios = %s\n", list(v.Gearbox.Ratios, float))
		line(b, "final_drive", v.Gearbox.FinalDrive, "")
	case whole:
		each := make([]float64, len(learnt))
		for i, g := range learnt {
			each[i] = g.RPMPerKmh
		}
		b.WriteString("# learnt: engine rpm per displayed km/h, first gear first. It is all of ratio, final drive and tyre, and carries the error of the display.\n")
		fmt.Fprintf(b, "rpm_per_kmh = %s\n", list(each, round4))
	default:
		b.WriteString("# ratios = [ ]            # first gear first, with\n# final_drive =\n")
	}
	line(b, "efficiency", v.Gearbox.Efficiency, "")
}

// wholeLadder tells whether every gear from first up was learnt, in order.
func wholeLadder(learnt []Gearing) bool {
	for i, g := range learnt {
		if g.Gear != i+1 || (i > 0 && g.RPMPerKmh >= learnt[i-1].RPMPerKmh) {
			return false
		}
	}
	return len(learnt) > 0
}

func (c *Clutch) write(b *strings.Builder) {
	b.WriteString("\n[clutch]\n")
	line(b, "torque_rating_nm", c.TorqueRating, "")
	line(b, "outer_diameter_m", c.OuterDiameter, "")
	line(b, "inner_diameter_m", c.InnerDiameter, "")
	line(b, "clamp_load_n", c.ClampLoad, "")
	line(b, "friction_coefficient", c.FrictionCoefficient, "")
	line(b, "friction_faces", float64(c.FrictionFaces), "")
}

func list(values []float64, format func(float64) string) string {
	parts := make([]string, len(values))
	for i, x := range values {
		parts[i] = format(x)
	}
	return "[" + strings.Join(parts, ", ") + "]"
}
