package vehicle

import (
	"crypto/sha256"
	"encoding/hex"
	"math"

	"flywitness/vehicle/tomlfile"
)

// maxFile is far above what a vehicle file needs.
const maxFile = 256 << 10

// Load reads a vehicle file. What cannot be (an unknown key, zero mass, rising ratios, one quantity in two units) is an
// error of one line that names file, line and column; what is unlikely comes back as warnings.
func Load(path string) (*Vehicle, []string, error) {
	data, err := tomlfile.ReadFile(path, maxFile)
	if err != nil {
		return nil, nil, err
	}
	return Parse(data, path)
}

// Parse reads the bytes of a vehicle file; name stands in errors.
func Parse(data []byte, name string) (*Vehicle, []string, error) {
	doc, err := tomlfile.Parse(data, name, maxFile)
	if err != nil {
		return nil, nil, err
	}
	sum := sha256.Sum256(data)
	v := &Vehicle{Path: name, SHA256: hex.EncodeToString(sum[:])}
	root := doc.Root()
	v.readCar(root.Table("vehicle"))
	v.readEngine(root.Table("engine"))
	v.readGearbox(root.Table("gearbox"))
	v.readRoadLoad(root.Table("road_load"))
	v.readClutch(root.Table("clutch"))
	if err := doc.Err(); err != nil {
		return nil, nil, err
	}
	return v, doc.Warnings(), nil
}

// limits are what a quantity can be, and what it usually is, in the unit of the reader.
type limits struct{ low, high, usualLow, usualHigh float64 }

// within reads a quantity and holds it against limits: above low and up to high, else an error; outside the usual, a
// warning. scale and unit only serve the message.
func within(t *tomlfile.Table, l limits, keys ...tomlfile.Key) tomlfile.Number {
	n := t.Quantity(keys...)
	if !n.Given {
		return n
	}
	factor := 1.0
	for _, k := range keys {
		if k.Name == n.Key {
			factor = k.Factor
		}
	}
	given := n.Value / factor
	switch {
	case n.Value <= l.low && l.low == 0:
		t.Refuse(n.Key, "is %s; it must be above zero", Plain(given, 4))
	case n.Value <= l.low || n.Value > l.high:
		t.Refuse(n.Key, "is %s; it must lie between %s and %s", Plain(given, 4), Plain(l.low/factor, 3), Plain(l.high/factor, 3))
	case n.Value < l.usualLow || n.Value > l.usualHigh:
		t.Warn(n.Key, "is %s, which is unusual (usual: %s to %s); check it", Plain(given, 4), Plain(l.usualLow/factor, 3), Plain(l.usualHigh/factor, 3))
	}
	return n
}

func plainKey(name string) tomlfile.Key { return tomlfile.Key{Name: name, Factor: 1} }

func (v *Vehicle) readCar(t *tomlfile.Table) {
	v.Name = t.Text("name")
	mass := within(t, limits{0, 60000, 450, 3500}, QuantityKeys("mass", "mass")...)
	v.Mass = mass.Value
	v.Weighed, _ = t.Flag("weighed")
	sd := t.Quantity(QuantityKeys("mass_sd", "mass")...)
	switch {
	case sd.Given && !mass.Given:
		t.Refuse(sd.Key, "needs the mass itself: give mass_kg")
	case sd.Given && (sd.Value <= 0 || sd.Value > v.Mass/2):
		t.Refuse(sd.Key, "must be above zero and below half of the mass")
	case sd.Given:
		v.MassSD = sd.Value
	default:
		v.MassSD = v.MassError() * v.Mass
	}
	v.readTyre(t)
	v.WheelInertia = within(t, limits{0, 100, 0.2, 5}, QuantityKeys("wheel_inertia", "inertia")...).Value
	if v.WheelInertia == 0 {
		v.WheelInertia = v.defaultWheelInertia()
	}
	v.DrivenWheels = 2
	if n := t.Number("driven_wheels"); n.Given {
		v.DrivenWheels = int(n.Value)
		if n.Value != 2 && n.Value != 4 && n.Value != 1 {
			t.Refuse(n.Key, "is %v; it must be 2 or 4", n.Value)
		}
	}
	v.SpeedSource = SpeedSource(t.Choice("speed_source", string(SourceUnknown), string(SourceDriven), string(SourceUndriven), string(SourceGPS)))
}

func (v *Vehicle) readTyre(t *tomlfile.Table) {
	rolled := within(t, limits{0.5, 6, 1.4, 2.8}, QuantityKeys("rolling_circumference", "length")...)
	v.RollingCircumference = rolled.Value
	v.Tyre = t.Text("tyre")
	if v.Tyre == "" {
		if t.Has("tyre") {
			t.Refuse("tyre", "must be a size such as \"205/55R16\"")
		}
		return
	}
	size, err := parseTyre(v.Tyre)
	if err != nil {
		t.Refuse("tyre", "%v", err)
		return
	}
	nominal := size.rollingCircumference()
	if !rolled.Given {
		v.RollingCircumference = nominal
	} else if math.Abs(rolled.Value/nominal-1) > 0.04 {
		t.Warn(rolled.Key, "differs by %.1f %% from what tyre %s rolls (%.3f m); it is used as given", 100*math.Abs(rolled.Value/nominal-1), v.Tyre, nominal)
	}
}

// defaultWheelInertia is that of one wheel when the mass of four, 4 J / r^2, is the usual share of the car's.
func (v *Vehicle) defaultWheelInertia() float64 {
	return wheelShare * v.Mass * v.Radius() * v.Radius() / 4
}

func (v *Vehicle) readEngine(t *tomlfile.Table) {
	v.Engine.IdleRPM = within(t, limits{0, 3000, 400, 1500}, plainKey("idle_rpm")).Value
	v.Engine.LimitRPM = within(t, limits{0, 25000, 3000, 12000}, plainKey("limit_rpm")).Value
	v.Engine.PeakTorque = within(t, limits{0, 20000, 50, 2000}, QuantityKeys("peak_torque", "torque")...).Value
	if v.Engine.IdleRPM > 0 && v.Engine.LimitRPM > 0 && v.Engine.IdleRPM >= v.Engine.LimitRPM {
		t.Refuse("limit_rpm", "must be above idle_rpm (%g)", v.Engine.IdleRPM)
	}
	if t.Has("fuel") {
		v.Engine.Fuel = t.Choice("fuel", "petrol", "diesel")
	}
	if t.Has("aspiration") {
		v.Engine.Aspiration = t.Choice("aspiration", Natural, Charged)
	}
	v.Engine.Throttle = t.Choice("throttle", "wire", "cable")
}

func (v *Vehicle) readGearbox(t *tomlfile.Table) {
	g := &v.Gearbox
	if t.Has("type") { // a kind that nobody told is not taken for granted
		g.Type = GearboxType(t.Choice("type", string(Manual), string(Automatic), string(DualClutch), string(CVT)))
	}
	g.Ratios = t.Numbers("ratios")
	checkRatios(t, g.Ratios)
	v.readLearnt(t)
	final := within(t, limits{0, 20, 2, 7}, plainKey("final_drive"))
	g.FinalDrive = final.Value
	if g.Learnt != nil {
		g.FinalDrive = 1
	}
	if len(g.Ratios) > 0 && !final.Given && g.Learnt == nil {
		t.Warn("ratios", "stand without final_drive, so torque and equivalent mass cannot be had from them")
	}
	if n := len(g.Ratios); n > 0 && final.Given && g.Learnt == nil && g.Ratios[n-1]*g.FinalDrive < 1 {
		t.Warn("final_drive", "gives a top gear of %.2f engine turns per wheel turn, which is unusual; check it", g.Ratios[n-1]*g.FinalDrive)
	}
	g.Efficiency = usualEfficiency
	if e := t.Number("efficiency"); e.Given {
		g.Efficiency = e.Value
		switch {
		case e.Value <= 0 || e.Value > 1:
			t.Refuse(e.Key, "is %g; it must be above 0 and at most 1 (0.95, not 95)", e.Value)
		case e.Value < 0.8:
			t.Warn(e.Key, "is %g, which is unusually low for a manual gearbox; check it", e.Value)
		}
	}
}

// readLearnt reads a gearing that a log taught, in place of ratios and final drive.
func (v *Vehicle) readLearnt(t *tomlfile.Table) {
	g := &v.Gearbox
	for _, unit := range []struct {
		key    string
		factor float64
	}{{"rpm_per_kmh", 1}, {"rpm_per_mph", 1 / KmPerMile}} {
		values := t.Numbers(unit.key)
		switch {
		case values == nil:
			continue
		case len(g.Ratios) > 0:
			t.Refuse(unit.key, "gives once more what ratios give; keep one of them")
			return
		case t.Has("final_drive"):
			t.Refuse(unit.key, "holds ratio and final drive; leave final_drive out")
			return
		case len(values) > 20:
			t.Refuse(unit.key, "has %d gears; 20 are the most", len(values))
			return
		}
		for i, x := range values {
			k := x * unit.factor
			if !(k >= 5 && k <= 500) || i > 0 && k >= g.Learnt[i-1] {
				t.Refuse(unit.key, "has %g for gear %d; it must fall from gear to gear, and lie between 5 and 500 rpm per km/h", x, i+1)
				return
			}
			g.Learnt = append(g.Learnt, k)
		}
	}
	if g.Learnt == nil {
		return
	}
	if v.RollingCircumference == 0 {
		v.RollingCircumference = NominalCircumference
	}
	for _, k := range g.Learnt {
		g.Ratios = append(g.Ratios, k*v.RollingCircumference*0.06)
	}
	g.GearingSD = LearntGearingSD
}

// checkRatios holds the ratios against what gearboxes are: first gear first, falling.
func checkRatios(t *tomlfile.Table, ratios []float64) {
	if t.Has("ratios") && len(ratios) == 0 {
		t.Refuse("ratios", "is empty; give first gear first, or leave [gearbox] ratios out")
		return
	}
	if len(ratios) > 20 {
		t.Refuse("ratios", "has %d gears; 20 are the most", len(ratios))
		return
	}
	for i, r := range ratios {
		switch {
		case r <= 0 || r > 100:
			t.Refuse("ratios", "has %g for gear %d; a ratio lies between 0.3 and 20", r, i+1)
			return
		case i > 0 && r >= ratios[i-1] && wholeNumbers(ratios):
			t.Refuse("ratios", "must fall from gear to gear, but gear %d (%g) is not below gear %d (%g); write fractions behind a point: 3.42, not 3,42", i+1, r, i, ratios[i-1])
			return
		case i > 0 && r >= ratios[i-1]:
			t.Refuse("ratios", "must fall from gear to gear, but gear %d (%g) is not below gear %d (%g); with two final drives give each gear's total ratio and final_drive = 1",
				i+1, r, i, ratios[i-1])
			return
		}
	}
	for i := 1; i < len(ratios); i++ {
		if step := ratios[i-1] / ratios[i]; step < 1.08 || step > 2.3 {
			t.Warn("ratios", "step from gear %d to gear %d by %.2f, which is unusual (usual: 1.1 to 2.2); check them", i, i+1, step)
		}
	}
}

// wholeNumbers tells whether no ratio has a fraction, as when each was written with a comma and so became two.
func wholeNumbers(ratios []float64) bool {
	for _, r := range ratios {
		if r != math.Trunc(r) {
			return false
		}
	}
	return true
}

func (v *Vehicle) readRoadLoad(t *tomlfile.Table) {
	if !t.Given() {
		return
	}
	mph := mile / 3600.0
	f0 := t.Quantity(QuantityKeys("f0", "force")...)
	f1 := t.Quantity(tomlfile.Key{Name: "f1_n_per_mps", Factor: 1}, tomlfile.Key{Name: "f1_n_per_kmh", Factor: 3.6},
		tomlfile.Key{Name: "f1_lbf_per_mph", Factor: lbf / mph})
	f2 := t.Quantity(tomlfile.Key{Name: "f2_n_per_mps2", Factor: 1}, tomlfile.Key{Name: "f2_n_per_kmh2", Factor: 3.6 * 3.6},
		tomlfile.Key{Name: "f2_lbf_per_mph2", Factor: lbf / (mph * mph)})
	v.RoadLoad = &RoadLoad{f0.Value, f1.Value, f2.Value}
	if !f0.Given || !f2.Given {
		t.Refuse("", "[road_load] needs at least f0_n and f2_n_per_mps2, or must be left out")
		return
	}
	for speed := 0.0; speed <= 60; speed++ {
		if v.RoadLoad.Force(speed) < 0 {
			t.Refuse("", "[road_load] pushes the car instead of holding it at %.0f km/h; check the signs", speed*3.6)
			return
		}
	}
	if f := v.RoadLoad.Force(100 / 3.6); f < 150 || f > 3000 {
		t.Warn(f0.Key, "and what follows give %.0f N at 100 km/h, which is unusual (usual: 150 to 3000 N); check them", f)
	}
}

func (v *Vehicle) readClutch(t *tomlfile.Table) {
	if !t.Given() {
		return
	}
	c := &Clutch{
		TorqueRating:        within(t, limits{0, 20000, 50, 2000}, QuantityKeys("torque_rating", "torque")...).Value,
		OuterDiameter:       within(t, limits{0, 1, 0.12, 0.45}, QuantityKeys("outer_diameter", "length")...).Value,
		InnerDiameter:       within(t, limits{0, 1, 0.06, 0.35}, QuantityKeys("inner_diameter", "length")...).Value,
		ClampLoad:           within(t, limits{0, 1e6, 1500, 40000}, QuantityKeys("clamp_load", "force")...).Value,
		FrictionCoefficient: within(t, limits{0, 2, 0.15, 0.6}, plainKey("friction_coefficient")).Value,
	}
	if c.OuterDiameter > 0 && c.InnerDiameter >= c.OuterDiameter {
		t.Refuse("inner_diameter_mm", "must be below the outer diameter")
	}
	if faces := t.Number("friction_faces"); faces.Given {
		c.FrictionFaces = int(faces.Value)
		if faces.Value != math.Trunc(faces.Value) || faces.Value < 1 || faces.Value > 40 {
			t.Refuse(faces.Key, "is %g; it must be a whole number: 2 for each disc", faces.Value)
		} else if c.FrictionFaces%2 != 0 {
			t.Warn(faces.Key, "is odd; a disc has two faces")
		}
	}
	v.Clutch = c
}
