package air

import (
	"math"
	"strings"
	"testing"

	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/vehicle"
)

func petrol() *vehicle.Vehicle {
	v := &vehicle.Vehicle{}
	v.Engine.Fuel, v.Engine.Aspiration = "petrol", vehicle.Natural
	return v
}

// airLog has the air at every ten seconds of ten minutes.
func airLog(channels map[string]float64) *drive.Log {
	l := &drive.Log{}
	for name, value := range channels {
		c := &drive.Channel{Name: name}
		for t := 0.0; t < 600; t += 10 {
			c.T, c.V = append(c.T, t), append(c.V, value)
		}
		l.Channels = append(l.Channels, c)
	}
	return l
}

func one(channels map[string]float64) *Finding {
	pulls := []Pull{{Side: "after", Start: 300, End: 308, Gear: 3, Torque: stats.Normal(200, 10)}}
	return Correct(J1349, petrol(), pulls, map[string][]*drive.Log{"after": {airLog(channels)}})
}

// A pull of 200 N m in thin warm air is worth more in standard air, by the factor; what was measured stays beside it.
func TestAPullInStandardAir(t *testing.T) {
	p := one(map[string]float64{drive.BarometricPressure: 97, drive.AmbientTemp: 30, drive.IntakeTemp: 45}).Pulls[0]
	if p.Torque.Value != 200 || p.Standard == nil || p.Inlet || *p.TempC != 30 || p.Reason != "" {
		t.Fatalf("%+v", p)
	}
	want := J1349.factor(97-0.5*saturated(30), 30)
	if math.Abs(p.Factor.Value-want) > 1e-12 || math.Abs(p.Standard.Value-200*want) > 1e-9 ||
		p.Standard.SD < p.Torque.SD {
		t.Errorf("factor %v, torque %v, want %.4f", p.Factor, p.Standard, want)
	}
	inlet := one(map[string]float64{drive.BarometricPressure: 97, drive.IntakeTemp: 30}).Pulls[0]
	// Five degrees of an engine bay against two outside. A degree more takes a half of 1/303 by the root, and
	// by its vapour a half of 0.249 kPa (steam tables at 30 and 31 C, from memory) from 94.88 kPa of dry air.
	perDegree := 1.18 * 99 / 94.88 * math.Sqrt(303.0/298) * (0.5/303 + 0.5*0.249/94.88)
	more := math.Sqrt(inlet.Factor.SD*inlet.Factor.SD - p.Factor.SD*p.Factor.SD)
	if math.Abs(more/(perDegree*math.Sqrt(25-4))-1) > 0.1 {
		t.Errorf("the intake's thermometer adds %.4f", more)
	}
	if !inlet.Inlet || inlet.Factor == nil || inlet.Factor.SD <= p.Factor.SD {
		t.Errorf("the thermometer of the intake is trusted as much: %+v", inlet)
	}
}

// What the formula is not for is left as it was measured, with the reason.
func TestWhatIsNotCorrected(t *testing.T) {
	for want, channels := range map[string]map[string]float64{
		"no air pressure":        {drive.AmbientTemp: 30},
		"no temperature":         {drive.BarometricPressure: 97},
		"the engine is charged":  {drive.BarometricPressure: 97, drive.AmbientTemp: 30, drive.IntakePressure: 180},
		"holds between 0.93 and": {drive.BarometricPressure: 80, drive.AmbientTemp: 30},
	} {
		p := one(channels).Pulls[0]
		if p.Standard != nil || p.Factor != nil || !strings.Contains(p.Reason, want) {
			t.Errorf("%s: %+v", want, p)
		}
	}
	if p := one(map[string]float64{drive.BarometricPressure: 97, drive.AmbientTemp: 30,
		drive.IntakePressure: 96}).Pulls[0]; p.Standard == nil {
		t.Errorf("an open throttle is no charge: %+v", p)
	}
	// Two sensors may differ by a few kPa; a charger adds more.
	for kPa, charged := range map[float64]bool{103: false, 110: true} {
		p := one(map[string]float64{drive.BarometricPressure: 97, drive.AmbientTemp: 30, drive.IntakePressure: kPa}).Pulls[0]
		if (p.Standard == nil) != charged {
			t.Errorf("%g kPa in the intake: %+v", kPa, p)
		}
	}
	// The air of four minutes ago is that of the pull; of a quarter of an hour ago it may be that of another place.
	for start, there := range map[float64]bool{590 + 240: true, 590 + 900: false} {
		log := airLog(map[string]float64{drive.BarometricPressure: 97, drive.AmbientTemp: 30}) // ends at 590 s
		f := Correct(J1349, petrol(), []Pull{{Side: "after", Start: start, End: start + 8, Torque: stats.Normal(200, 10)}},
			map[string][]*drive.Log{"after": {log}})
		if (f.Pulls[0].Standard != nil) != there {
			t.Errorf("air of %g s before the pull: %+v", start-590, f.Pulls[0])
		}
	}
	pull := []Pull{{Torque: stats.Normal(200, 10)}}
	for want, change := range map[string]func(*vehicle.Vehicle){
		"how the engine breathes": func(v *vehicle.Vehicle) { v.Engine.Aspiration = "" },
		"the engine is charged":   func(v *vehicle.Vehicle) { v.Engine.Aspiration = vehicle.Charged },
		"petrol engines":          func(v *vehicle.Vehicle) { v.Engine.Fuel = "diesel" },
	} {
		v := petrol()
		change(v)
		if f := Correct(ISO1585, v, pull, nil); !strings.Contains(f.Reason, want) || len(f.Pulls) != 0 {
			t.Errorf("%s: %+v", want, f)
		}
	}
	both := map[string][]*drive.Log{"before": {airLog(nil)}, "after": {airLog(nil)}}
	if f := Correct(ISO1585, petrol(), []Pull{{Side: "after", Torque: stats.Normal(200, 10)}},
		both); len(f.Without) != 1 || f.Without[0] != "before" {
		t.Errorf("sides without a pull: %v", f.Without)
	}
	if f := Correct(ISO1585, nil, pull, nil); f.Reason == "" {
		t.Error("corrected without a vehicle")
	}
	if f := Correct(ISO1585, petrol(), nil, nil); !strings.Contains(f.Reason, "no pull") {
		t.Errorf("%+v", f)
	}
}
