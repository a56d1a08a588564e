package vehicle

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

const mule = `[vehicle]
name = "Bench mule"
mass_kg = 1285
mass_sd_kg = 15
tyre = "205/55R16"
wheel_inertia_kgm2 = 1.0
driven_wheels = 2
speed_source = "driven"

[engine]
idle_rpm = 850
limit_rpm = 6800
peak_torque_nm = 260
fuel = "petrol"
throttle = "wire"
aspiration = "natural"

[gearbox]
type = "manual"
ratios = [3.42, 1.95, 1.36, 1.03, 0.83]
final_drive = 4.06
efficiency = 0.95

[road_load]
f0_n = 140
f1_n_per_mps = 1.2
f2_n_per_mps2 = 0.42

[clutch]
torque_rating_nm = 280
outer_diameter_mm = 240
inner_diameter_mm = 155
clamp_load_n = 7200
friction_coefficient = 0.30
friction_faces = 2
`

func TestLoadReadsEveryKey(t *testing.T) {
	path := filepath.Join(t.TempDir(), "mule.toml")
	if err := os.WriteFile(path, []byte(mule), 0o600); err != nil {
		t.Fatal(err)
	}
	v, warnings, err := Load(path)
	if err != nil || len(warnings) != 0 {
		t.Fatalf("%v %v", err, warnings)
	}
	if len(v.SHA256) != 64 || v.Path != path {
		t.Errorf("path %q sha %q", v.Path, v.SHA256)
	}
	want := &Vehicle{Path: path, SHA256: v.SHA256, Name: "Bench mule", Mass: 1285, MassSD: 15, Tyre: "205/55R16",
		RollingCircumference: 3.05 * 0.6319, WheelInertia: 1, DrivenWheels: 2, SpeedSource: SourceDriven,
		Engine:   Engine{850, 6800, 260, "petrol", "wire", "natural"},
		Gearbox:  Gearbox{Manual, []float64{3.42, 1.95, 1.36, 1.03, 0.83}, 4.06, 0.95, 0, nil},
		RoadLoad: &RoadLoad{140, 1.2, 0.42},
		Clutch:   &Clutch{280, 0.24, 0.155, 7200, 0.3, 2}}
	near(t, &v.RollingCircumference, want.RollingCircumference)
	near(t, &v.Clutch.OuterDiameter, 0.24)
	near(t, &v.Clutch.InnerDiameter, 0.155)
	if !reflect.DeepEqual(v, want) {
		t.Errorf("got %+v\nwant %+v", v, want)
	}
}

// near checks a float to rounding and makes it equal, for DeepEqual.
func near(t *testing.T, got *float64, want float64) {
	t.Helper()
	if math.Abs(*got-want) > 1e-12*math.Abs(want) {
		t.Errorf("got %.15g, want %.15g", *got, want)
	}
	*got = want
}

func TestDefaults(t *testing.T) {
	v, _, err := Parse([]byte("[vehicle]\nmass_kg = 1200\nrolling_circumference_m = 1.9\n"), "x")
	if err != nil {
		t.Fatal(err)
	}
	if v.MassSD != 48 || v.DrivenWheels != 2 || v.Gearbox.Efficiency != 0.95 || v.Gearbox.Type != "" || v.Engine.Throttle != "wire" || v.SpeedSource != SourceUnknown {
		t.Errorf("%+v", v)
	}
	// UN GTR 15 (WLTP), annex 4 (from memory): the rotating mass of four wheels is 3 % of the mass, of two 1.5 %.
	if share := 4 * v.WheelInertia / (v.Radius() * v.Radius()) / v.Mass; math.Abs(share-0.03) > 1e-12 {
		t.Errorf("four wheels are %.4f of the mass", share)
	}
	w, _, err := Parse([]byte("[vehicle]\nmass_kg = 1200\nweighed = true\n"), "x")
	if err != nil || w.MassSD != 18 {
		t.Errorf("weighed: %v %v", w, err)
	}
}

func TestUnitsBySuffix(t *testing.T) {
	v, _, err := Parse([]byte(`[vehicle]
mass_lb = 2833
rolling_circumference_in = 75.87
wheel_inertia_lbft2 = 23.73
[clutch]
outer_diameter_in = 9.449
inner_diameter_cm = 15.5
clamp_load_lbf = 1618.6
torque_rating_lbft = 206.5
[road_load]
f0_lbf = 31.5
f1_n_per_kmh = 0.3
f2_lbf_per_mph2 = 0.019
`), "x")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ got, want float64 }{
		{v.Mass, 1285}, {v.RollingCircumference, 1.9271}, {v.WheelInertia, 1}, {v.Clutch.OuterDiameter, 0.24},
		{v.Clutch.InnerDiameter, 0.155}, {v.Clutch.ClampLoad, 7200}, {v.Clutch.TorqueRating, 280},
		{v.RoadLoad.F0, 140.1}, {v.RoadLoad.F1, 1.08}, {v.RoadLoad.F2, 0.4229},
	} {
		if math.Abs(c.got/c.want-1) > 5e-4 {
			t.Errorf("got %g, want %g", c.got, c.want)
		}
	}
}

func TestErrorsNamePlaceAndCure(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"unknown key", "[vehicle]\nname = \"x\"\nmas_kg = 3\n", `mule.toml:3:1: unknown key "mas_kg"; the nearest known key is "mass_kg"`},
		{"tire", "[vehicle]\ntire = \"205/55R16\"\n", `the nearest known key is "tyre"`},
		{"wrong table", "[vehicle]\nfinal_drive = 4\n", `it belongs under [gearbox]`},
		{"no table", "mass_kg = 1200\n", `it belongs under [vehicle]`},
		{"unknown table", "[gear_box]\n", `the nearest known key is "gearbox"`},
		{"text for number", "[vehicle]\nmass_kg = \"1285\"\n", `mule.toml:2:1: mass_kg is the text "1285"; it must be a number`},
		{"number for text", "[vehicle]\nname = 3\n", "must be text"},
		{"number for table", "vehicle = 3\n", "must be a table"},
		{"list of tables", "[[vehicle]]\nmass_kg = 3\n", "must be a table"},
		{"zero mass", "[vehicle]\nmass_kg = 0\n", "mule.toml:2:1: mass_kg is 0; it must be above zero"},
		{"negative mass", "[vehicle]\nmass_lb = -3\n", "must be above zero"},
		{"nan", "[vehicle]\nmass_kg = nan\n", "finite"},
		{"inf", "[gearbox]\nfinal_drive = inf\n", "finite"},
		{"nan ratio", "[gearbox]\nratios = [nan, 1.0]\n", "list of numbers"},
		{"two units", "[vehicle]\nmass_kg = 1285\nmass_lb = 2833\n", "mule.toml:3:1: mass_lb gives once more what mass_kg gives"},
		{"learnt gearing and ratios", "[gearbox]\nratios = [3.4, 1.9]\nfinal_drive = 4\nrpm_per_kmh = [118, 68]\n", "once more"},
		{"learnt gearing and final drive", "[gearbox]\nfinal_drive = 4\nrpm_per_kmh = [118, 68]\n", "leave final_drive out"},
		{"rising learnt gearing", "[gearbox]\nrpm_per_kmh = [68, 118]\n", "must fall"},
		{"impossible learnt gearing", "[gearbox]\nrpm_per_kmh = [1180]\n", "between 5 and 500"},
		{"rising ratios", "[gearbox]\nratios = [3.4, 1.9, 2.0]\nfinal_drive = 4\n", "gear 3 (2) is not below gear 2 (1.9)"},
		{"equal ratios", "[gearbox]\nratios = [3.4, 3.4]\n", "must fall"},
		{"negative ratio", "[gearbox]\nratios = [3.4, -1]\n", "gear 2"},
		{"empty ratios", "[gearbox]\nratios = []\n", "is empty"},
		{"ratio text", "[gearbox]\nratios = \"3.4 1.9\"\n", "list of numbers"},
		{"efficiency", "[gearbox]\nefficiency = 95\n", "0.95, not 95"},
		{"idle", "[engine]\nidle_rpm = 900\nlimit_rpm = 900\n", "must be above idle_rpm"},
		{"fuel", "[engine]\nfuel = \"steam\"\n", "must be one of petrol, diesel"},
		{"type", "[gearbox]\ntype = \"magic\"\n", "must be one of manual, automatic, dual_clutch, cvt"},
		{"wheels", "[vehicle]\ndriven_wheels = 2.5\n", "must be 2 or 4"},
		{"circumference in wrong unit", "[vehicle]\nrolling_circumference_m = 1927\n", "between 0.5 and 6"},
		{"flotation", "[vehicle]\ntyre = \"31x10.50R15\"\n", "mule.toml:2:1: tyre"},
		{"empty tyre", "[vehicle]\ntyre = \"\"\n", "such as"},
		{"sd alone", "[vehicle]\nmass_sd_kg = 3\n", "give mass_kg"},
		{"clutch inside out", "[clutch]\nouter_diameter_mm = 155\ninner_diameter_mm = 240\n", "below the outer"},
		{"faces", "[clutch]\nfriction_faces = 1.5\n", "whole number"},
		{"road load", "[road_load]\nf0_n = -100\nf2_n_per_mps2 = 0.4\n", "check the signs"},
		{"half a road load", "[road_load]\nf0_n = 100\n", "at least"},
		{"syntax", "[vehicle]\nmass_kg = = 3\n", "mule.toml:2:"},
		{"duplicate", "[vehicle]\nmass_kg = 3\nmass_kg = 4\n", "mule.toml:"},
		{"huge integer", "[vehicle]\nmass_kg = 99999999999999999999\n", "mule.toml:"},
		{"date", "[vehicle]\nmass_kg = 2026-01-01\n", "a date"},
		{"empty", " \n", "is empty"},
		{"binary", "\x7fELF\x02\x00\xff\xfe", "not UTF-8"},
		{"nul", "a\x00b", "not a text file"},
		{"utf-16", "\xff\xfe[\x00", "UTF-16"},
		{"nesting", "a = " + strings.Repeat("[", 100000), "nested too deeply"},
		{"dots", strings.Repeat("a.", 50000) + "b = 1", "nested too deeply"},
		{"ten megabytes", strings.Repeat("# comment\n", 1<<20), "larger than 256 kB"},
		{"control characters", "[vehicle]\n\"a\\u001b[31m\" = 1\n", `unknown key "a\x1b[31m"`},
	} {
		v, _, err := Parse([]byte(c.text), "mule.toml")
		if err == nil || v != nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v\n want one line with %q", c.name, err, c.want)
		}
	}
}

func TestFirstErrorOfTheFileIsTold(t *testing.T) {
	_, _, err := Parse([]byte("[clutch]\nnope = 1\n[vehicle]\nmass_kg = 0\n"), "x")
	if err == nil || !strings.HasPrefix(err.Error(), "x:2:1:") {
		t.Errorf("got %v", err)
	}
}

func TestExcerptShowsCaret(t *testing.T) {
	_, _, err := Parse([]byte("[vehicle]\r\n  mas_kg = 3\r\n"), "x")
	excerpt, ok := err.(interface{ Excerpt() string })
	if !ok || excerpt.Excerpt() != "    2 |   mas_kg = 3\n          ^\n" {
		t.Errorf("%v: %q", err, excerpt.Excerpt())
	}
}

func TestUnlikelyIsAWarning(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"[vehicle]\nmass_kg = 6000\n", "x:2:1: mass_kg is 6000, which is unusual"},
		{"[gearbox]\nratios = [3.4, 1.2]\nfinal_drive = 4\n", "step from gear 1 to gear 2"},
		{"[gearbox]\nratios = [3.4, 1.9]\n", "without final_drive"},
		{"[gearbox]\nefficiency = 0.7\n", "unusually low"},
		{"[vehicle]\ntyre = \"205/55R16\"\nrolling_circumference_m = 2.1\n", "differs by 9.0 %"},
		{"[clutch]\nfriction_faces = 3\n", "two faces"},
		{"[road_load]\nf0_n = 3\nf2_n_per_mps2 = 0.01\n", "unusual"},
	} {
		_, warnings, err := Parse([]byte(c.text), "x")
		if err != nil || len(warnings) != 1 || !strings.Contains(warnings[0], c.want) {
			t.Errorf("%q: %v %q, want %q", c.text, err, warnings, c.want)
		}
	}
}

func TestLoadOfMissingFileAndFolder(t *testing.T) {
	if _, _, err := Load(filepath.Join(t.TempDir(), "no.toml")); err == nil {
		t.Error("missing file loads")
	}
	if _, _, err := Load(t.TempDir()); err == nil || !strings.Contains(err.Error(), "folder") {
		t.Errorf("folder: %v", err)
	}
}

func TestParseLeavesInputAlone(t *testing.T) {
	data := []byte(mule)
	if _, _, err := Parse(data, "x"); err != nil || !bytes.Equal(data, []byte(mule)) {
		t.Errorf("changed input, %v", err)
	}
}

func TestWriteRoundTrip(t *testing.T) {
	for _, text := range []string{mule, "[vehicle]\nmass_kg = 1300\n[gearbox]\nrpm_per_mph = [190, 108.9, 76]\n", "[vehicle]\ntyre = \"205/55R16\"\n[gearbox]\nrpm_per_kmh = [118, 68]\n", "[vehicle]\nname = \"a \\\"b\\\" \\u0007 c\\\\\"\n", "[vehicle]\nmass_lb = 2500\nweighed = true\n[clutch]\ntorque_rating_lbft = 200\n"} {
		v, _, err := Parse([]byte(text), "x")
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := WriteTOML(&b, v, nil, "learnt from\ntwo logs"); err != nil {
			t.Fatal(err)
		}
		again, _, err := Parse(b.Bytes(), "x")
		if err != nil {
			t.Fatalf("%v in\n%s", err, b.String())
		}
		again.SHA256 = v.SHA256
		if !reflect.DeepEqual(v, again) {
			t.Errorf("got %+v\nwant %+v\n%s", again, v, b.String())
		}
	}
}

func TestWriteLearntLadder(t *testing.T) {
	ladder := []Gearing{{1, 118.24, 0.3}, {2, 68.5, 0}}
	var unknown, known bytes.Buffer
	if err := WriteTOML(&unknown, &Vehicle{}, ladder); err != nil {
		t.Fatal(err)
	}
	v, _, err := Parse(unknown.Bytes(), "x")
	if err != nil || math.Abs(v.RPMPerKmh(1)-118.24) > 1e-9 || math.Abs(v.RPMPerKmh(2)-68.5) > 1e-9 || v.Gearbox.GearingSD != LearntGearingSD ||
		!strings.Contains(unknown.String(), "gear 1: 118.2400 rpm per km/h (sd 0.3000)") {
		t.Errorf("%v\n%s", err, unknown.String())
	}
	if strings.ContainsAny(strings.NewReplacer("118.24", "", "68.5", "", "0.3000", "").Replace(unknown.String()), "356789") { // nobody else's car: no mass, ratio or tyre of an example
		t.Errorf("figures that no log taught:\n%s", unknown.String())
	}
	var gap bytes.Buffer
	if err := WriteTOML(&gap, &Vehicle{}, []Gearing{{1, 118.24, 0}, {3, 47.2, 0}}); err != nil {
		t.Fatal(err)
	}
	if v, _, err := Parse(gap.Bytes(), "x"); err != nil || v.Gearbox.Ratios != nil || !strings.Contains(gap.String(), "gear 3: 47.2000") {
		t.Errorf("%v\n%s", err, gap.String())
	}
	if err := WriteTOML(&known, &Vehicle{RollingCircumference: 1.927}, ladder); err != nil {
		t.Fatal(err)
	}
	v, _, err = Parse(known.Bytes(), "x")
	if err != nil || math.Abs(v.RPMPerKmh(1)-118.24) > 0.01 || math.Abs(v.RPMPerKmh(2)-68.5) > 0.01 {
		t.Errorf("%v\n%s", err, known.String())
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(mule))
	f.Add([]byte("[vehicle]\nmass_kg = 0\n[[vehicle]]\n"))
	f.Add([]byte("vehicle = {mass_kg = 3, nope = 4}\ngearbox.ratios = [1]"))
	f.Fuzz(func(t *testing.T, data []byte) {
		v, _, err := Parse(data, "x")
		if err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Errorf("error of two lines: %q", err)
			}
			return
		}
		var b bytes.Buffer
		if err := WriteTOML(&b, v, nil); err != nil {
			t.Fatal(err)
		}
		again, _, err := Parse(b.Bytes(), "x")
		if err != nil {
			t.Fatalf("%v in\n%s", err, b.String())
		}
		again.SHA256 = v.SHA256
		if !reflect.DeepEqual(v, again) {
			t.Errorf("%+v\n%+v", v, again)
		}
	})
}
