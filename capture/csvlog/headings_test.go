package csvlog

import (
	"strings"
	"testing"

	"flywitness/drive"
)

// Headings as loggers of several trades and languages spell them, and the channel that each names on its own; "" for what must not be taken.
// Common practice, no source.
var spellings = []struct{ channel, headings string }{
	{drive.EngineSpeed, "Engine RPM|Engine Speed|engine_speed|EngineSpeed|ENGINE_RPM ()|ENGINERPM|rpm|n_mot|Motordrehzahl|Drehzahl [1/min]|Régime moteur (tr/min)|giri motore|Engine rpm [U/min]|revs|Eng Spd|" +
		"Engine Speed (x1000 rpm)|Tach|Motor RPM|RPM (OBD)|Obroty silnika|Régimen del motor|N|EngineSpeedRpm|Engine speed (rad/s)|Crankshaft speed (1/min)|Engine (rpm)|engine_speed_rpm|" +
		"Vitesse de rotation du moteur (tr/mn)|Частота вращения коленвала (об/мин)|Drehgeschwindigkeit Motor (1/min)|엔진회전속도(rpm)|Revs per minute|R?gime moteur|RÃ©gime moteur (tr/min)"},
	{drive.VehicleSpeed, "Vehicle Speed|VEHICLE_SPEED ()|Speed (km/h)|Speed [mph]|Speed_kmh|VSS km/h|VehicleSpeedKmh|Road Speed|Speed (OBD)(km/h)|Fahrzeuggeschwindigkeit|Vitesse véhicule|Velocità|" +
		"Vehicle Speed Sensor|v_veh|Wheel-Based Vehicle Speed|Tempo (km/h)|Vehicle (km/h)|speed kmh|車両速度(km/h)|Køretøjshastighed (km/t)|Fzg.-Geschw. km/h"},
	{drive.GPSSpeed, "Speed (GPS)(km/h)|GPS Speed (Meters/second)|gps_speed_mps|Speed over ground (kn)|SOG"},
	{drive.UndrivenSpeed, "Undriven wheel speed (km/h)|non-driven speed"},
	{drive.Throttle, "THROTTLE ()|Throttle Position(Manifold)(%)|TPS|Drosselklappe|ABSOLUTE_THROTTLE_B ()|RELATIVE_THROTTLE_POSITION ()"},
	{drive.Pedal, "Accelerator Pedal Position D (%)|PEDAL_D ()|Pedalwert|Gas pedal"},
	{drive.EngineLoad, "Расчетная нагрузка (%)|計算負荷値(%)|Motorbelasting (%)|Charge calculée (%)"},
	{drive.IntakeTemp, "进气温度(℃)|Temp. air admission (°C)|Insugslufttemperatur (°C)"},
	{drive.IntakePressure, "Intake manifold pressure (mbar abs.)|MAP (psi)|INTAKE_MANIFOLD_PRESSURE ()|Intake Manifold Pressure (kPa)"},
	{drive.BarometricPressure, "ABSOLUTE_BAROMETRIC_PRESSURE ()|Barometric pressure (kPa)"},
	{drive.CoolantTemp, "COOLANT_TEMPERATURE ()|Engine Coolant Temp (°F)|ECT"},
	{drive.EngineTorque, "Actual engine - percent torque (%)"},
	{drive.ReferenceTorque, "Engine reference torque (Nm)"},
	{drive.DemandedTorque, "Driver's demand engine - percent torque"},
	{drive.ClutchSwitch, "Clutch switch|Kupplung|Clutch pedal position (%)|Clutch %"},
	{drive.ShortFuelTrim, "SHORT_TERM_FUEL_TRIM_BANK_1 ()|Short term fuel trim (%)|STFT B1 (%)|Fuel trim bank 1 short term (%)"},
	{drive.LongFuelTrim, "LONG_TERM_FUEL_TRIM_BANK_1 ()|LTFT|Long term fuel trim - Bank 1"},
	{drive.CommandedLambda, "COMMANDED_EQUIVALENCE_RATIO ()|Fuel-Air commanded equivalence ratio|Lambda Soll"},
	{drive.Altitude, "Altitude|GPS Altitude (m)|Elevation (ft)|Altitude above mean sea level (m)"},
	{drive.SparkAdvance, "TIMING_ADVANCE ()|Timing advance (deg)|Ignition Timing [°]|Zündwinkel"},
	{drive.CanisterPurge, "COMMANDED_EVAPORATIVE_PURGE ()|Commanded evap purge (%)"},
	{drive.FuelRate, "Engine fuel rate (L/h)|fuel_rate [gal/h]"},
	{"", "Turbo RPM|Idle RPM target|Fan speed (rpm)|Transmission Input Speed (rpm)|Output shaft speed (rpm)|RPM limit|Max RPM|Engine Speed Target|Turbine speed [rpm]|E-Motor speed (rpm)|" +
		"Rated engine speed (rpm)|Обороты холостого хода заданные (об/мин)|목표 회전수(rpm)|Dyno roller rpm|Lead vehicle speed (km/h)|Lateral velocity (m/s)|Średnia prędkość (km/h)|Wiper speed|MAP (psig)|" +
		"Wheel Speed FL|Wheel speed rear left|Cruise Set Speed|Target speed|Speed limit|Average speed|Wind speed|GPS Speed Accuracy (m/s)|Speed diff|Rotational speed|Speed ratio|Tempo|" +
		"COMMANDED_THROTTLE_ACTUATOR ()|TPS (V)|Absolute Load Value|Boost (psi)|Transmission oil temp|Brake pedal|Engine torque (Nm)|CATALYST_TEMPERATURE_BANK1_SENSOR1 ()|Camshaft timing advance (deg)|Knock retard|EVAP_VAPOR_PRESSURE ()|" +
		"SHORT_TERM_FUEL_TRIM_BANK_2 ()|O2 sensor 1 short term fuel trim (%)|Fuel rail pressure (kPa)|Lambda|Fuel rate (mg)|Barometric altitude (m)|Altitude accuracy (m)"},
}

func TestHeadingsNameTheirChannel(t *testing.T) {
	for _, s := range spellings {
		for _, text := range strings.Split(s.headings, "|") {
			h := parseHeading(0, text, "")
			best, got := noMatch, ""
			for _, q := range lexicons {
				if r, _, _ := h.match(q); r > best {
					best, got = r, q.channel
				}
			}
			if got != s.channel || got != "" && best == doubtful {
				t.Errorf("%q names %q (rank %d), want %q", text, got, best, s.channel)
			}
		}
	}
}

func TestHeadingsOfTheClock(t *testing.T) {
	for text, want := range map[string]bool{"time_s": true, "Time (ms)": true, "Zeit [s]": true, "Elapsed Time": true, "SECONDS": true, "Device Time": true, "Run time since engine start (s)": true, "Tempo": true, "DateTime": true, "t / s": true, "t in s": true, "ts_ms": true, "t_us": true,
		"TIME_RUN_WITH_MIL_ON ()": false, "TIME_SINCE_TROUBLE_CODES_CLEARED ()": false, "Trip Time": false, "Lap time": false, "Injection time (ms)": false, "Delta time (ms)": false, "Driver's demand": false} {
		if got := parseHeading(0, text, "").timeRank() > 0; got != want {
			t.Errorf("%q is a clock: %v, want %v", text, got, want)
		}
	}
	if !parseHeading(0, "ENGINE_RUN_TINE ()", "").misspeltTime() || parseHeading(0, "Tire pressure", "").misspeltTime() {
		t.Error("a misspelt clock is not told from another word")
	}
}

func TestConversions(t *testing.T) {
	for _, c := range []struct {
		unit, canonical string
		in, want        float64
	}{
		// NIST SP 811 (from memory): 1 mph = 1.609344 km/h, 1 psi = 6.894757 kPa; a knot is 1.852 km/h by definition.
		{"mph", "km/h", 100, 160.9344}, {"m/s", "km/h", 10, 36}, {"kn", "km/h", 10, 18.52}, {"kph", "km/h", 50, 50},
		{"°F", "C", 212, 100}, {"°F", "C", 32, 0}, {"K", "C", 373.15, 100},
		{"psi", "kPa", 10, 68.94757}, {"inHg", "kPa", 1, 3.386389}, {"bar", "kPa", 1.5, 150}, {"mbar", "kPa", 1013.25, 101.325},
		{"1/min", "rpm", 850, 850}, {"x1000 rpm", "rpm", 3.5, 3500}, {"tr/min", "rpm", 900, 900},
		{"kg/min", "g/s", 6, 100}, {"lb/s", "g/s", 1, 453.59237}, {"mg/s", "g/s", 5000, 5}, {"kg/s", "g/s", 0.02, 20}, {"kgf/cm2", "kPa", 1, 98.0665}, {"deg/s", "rpm", 600, 100},
		{"об/хв", "rpm", 900, 900}, {"转/分", "rpm", 900, 900}, {"公里/小时", "km/h", 50, 50}, {"м/с", "km/h", 10, 36},
		{"kg/h", "g/s", 36, 10}, {"gal/h", "L/h", 1, 3.785411784}, {"LPH", "L/h", 2, 2}, {"lb-ft", "N m", 1, 1.3558179483}, {"Prozent", "%", 12, 12}, {"%", "", 40, 0.4},
	} {
		conv, ok := parseUnit(c.unit, c.canonical)
		if got := conv.apply(c.in); !ok || got < c.want-1e-6*(1+c.want) || got > c.want+1e-6*(1+c.want) {
			t.Errorf("%g %s is %v %s (%v), want %v", c.in, c.unit, got, c.canonical, ok, c.want)
		}
	}
	for _, text := range []string{"Clutch %", "Clutch pedal (%)"} {
		if _, conv, _ := parseHeading(0, text, "").match(lexiconOf(drive.ClutchSwitch)); conv.apply(100) != 1 {
			t.Errorf("%s: a pedal all the way down is %v", text, conv.apply(100))
		}
	}
	if _, ok := parseUnit("Nm", "%"); ok {
		t.Error("a torque passes for a share")
	}
}
