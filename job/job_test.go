package job

import (
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

// folder makes a job folder with empty recordings and returns the path of its job file.
func folder(t *testing.T, text string, recordings ...string) string {
	t.Helper()
	dir := t.TempDir()
	for _, name := range append(recordings, "job.toml") {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return filepath.Join(dir, "job.toml")
}

var drives = []string{"before/b2.csv", "before/b1.csv", "after/a1.csv", "after/a2.csv", "after/odd [1].csv"}

const whole = `title = "Clutch and flywheel"
vehicle = "mule.toml"
vehicle_after = "mule-after.toml"
before = ["before/*.csv"]
after = ["after/*.csv"]
done = "240 mm disc, single-mass flywheel"
site = "road"
km_since_fitted = 600
bed_in_km = 500
foot_on_clutch = false
checklist = true
margin_pct = 4
runs_per_side = 6
window_rpm = [1500, 3500]
operator = "A. Fitter"
place = "Quarry Lane Clutch Works"
odometer_miles = 100
[[session]]
name = "cold start"
side = "after"
files = ["after/a*.csv"]
[[exclude]]
files = "before/b2.csv"
reason = "air conditioning was on"
[[part]]
name = "flywheel"
before_inertia_kgm2 = 0.151
after_inertia_kgm2 = 0.083
inertia_change_sd_kgm2 = 0.002
[claim]
equivalent_mass_kg = 95
gear = 1
power_kw = 150
at_rpm = 5500
`

func TestLoadReadsEveryKey(t *testing.T) {
	path := folder(t, whole, drives...)
	in := func(name string) string { return filepath.Join(filepath.Dir(path), name) }
	j, warnings, err := Load(path)
	if err != nil || len(warnings) != 0 {
		t.Fatalf("%v %q", err, warnings)
	}
	wantAfter := []Session{{"cold start", []string{in("after/a1.csv"), in("after/a2.csv")}, true}, {"odd [1].csv", []string{in("after/odd [1].csv")}, false}}
	if want := []Session{{"b1.csv", []string{in("before/b1.csv")}, false}}; !reflect.DeepEqual(j.Before, want) {
		t.Errorf("before: %v", j.Before)
	}
	if !reflect.DeepEqual(j.After, wantAfter) {
		t.Errorf("after: %v", j.After)
	}
	if len(j.Excluded) != 1 || j.Excluded[0].Files[0] != in("before/b2.csv") || j.Vehicle != in("mule.toml") || j.VehicleAfter != in("mule-after.toml") {
		t.Errorf("%+v", j)
	}
	if j.Site != "road" || *j.KmSinceFitted != 600 || *j.BedInKm != 500 || *j.FootOnClutch || !j.Checklist || j.MarginPct != 4 ||
		j.RunsPerSide != 6 || *j.WindowRPM != [2]float64{1500, 3500} || math.Abs(*j.OdometerKm-160.9344) > 1e-9 {
		t.Errorf("%+v", j)
	}
	if want := []Fact{{"operator", "A. Fitter"}, {"place", "Quarry Lane Clutch Works"}}; !reflect.DeepEqual(j.Facts, want) {
		t.Errorf("facts %v", j.Facts)
	}
	if p := j.Parts[0]; p.Name != "flywheel" || math.Abs(p.Change+0.068) > 1e-12 || p.ChangeSD != 0.002 {
		t.Errorf("%+v", p)
	}
	if c := j.Claim; *c.EquivalentMass != 95 || c.Gear != 1 || *c.Power != 150e3 || c.AtRPM != 5500 || c.Torque != nil {
		t.Errorf("claim %+v", c)
	}
}

// Every promise that a person makes can be written down, in either system of units. NIST SP 811 (from memory): 1 lb = 0.45359237 kg, 1 hp = 745.69987 W,
// 1 mph = 1.609344 km/h.
func TestEveryPromiseCanBeWritten(t *testing.T) {
	for text, got := range map[string]func(c *Claim) bool{
		"equivalent_mass_lb = 250\ngear = 1":                               func(c *Claim) bool { return math.Abs(*c.EquivalentMass-113.398) < 1e-3 && c.Gear == 1 },
		"acceleration_gain_pct = 6\ngear = 1":                              func(c *Claim) bool { return *c.AccelerationGain == 6 },
		"equivalent_power_hp = 10\ngear = 2":                               func(c *Claim) bool { return math.Abs(*c.EquivalentPower-7456.9987) < 1e-3 && c.AtRPM == 0 },
		"equivalent_power_kw = 8\ngear = 1\nat_rpm = 5000":                 func(c *Claim) bool { return *c.EquivalentPower == 8000 && c.AtRPM == 5000 },
		"saved_s = 0.1\ngear = 1":                                          func(c *Claim) bool { return *c.SavedSeconds == 0.1 && c.ToKmh == 0 },
		"saved_s = 0.1\ngear = 2\nfrom_mph = 20\nto_mph = 50":              func(c *Claim) bool { return math.Abs(c.FromKmh-32.18688) < 1e-9 && math.Abs(c.ToKmh-80.4672) < 1e-9 },
		"inertia_change_kgm2 = -0.05":                                      func(c *Claim) bool { return *c.InertiaChange == -0.05 },
		"inertia_reduction_pct = 20":                                       func(c *Claim) bool { return *c.ReductionPct == 20 },
		"mass_off_kg = 5.5":                                                func(c *Claim) bool { return *c.MassOff == 5.5 },
		"torque_nm = 300\nequivalent_mass_kg = 100\ngear = 1":              func(c *Claim) bool { return *c.Torque == 300 && *c.EquivalentMass == 100 },
		"power_kw = 150\nat_rpm = 5500\nequivalent_power_kw = 8\ngear = 1": func(c *Claim) bool { return *c.Power == 150e3 && *c.EquivalentPower == 8000 },
	} {
		j, _, err := Load(folder(t, "before = [\"before/*.csv\"]\n[claim]\n"+text+"\n", drives...))
		if err != nil || !got(j.Claim) {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func TestEitherSideMayBeMissing(t *testing.T) {
	j, _, err := Load(folder(t, `after = "after/*.csv"`, drives...))
	if err != nil || len(j.Before) != 0 || len(j.After) != 3 || j.Site != "road" || j.MarginPct != 3 || j.FootOnClutch != nil || j.Claim != nil {
		t.Errorf("%+v %v", j, err)
	}
	j, _, err = Load(folder(t, "[[session]]\nside = \"before\"\nfiles = [\"before/*.csv\"]\n", drives...))
	if err != nil || len(j.Before) != 1 || len(j.Before[0].Files) != 2 || j.Before[0].Name != "session 1" {
		t.Errorf("%+v %v", j, err)
	}
}

// A folder stands for the logs in it. A side whose folder is there and empty was not driven yet: the other is judged alone, and the
// file says which pattern found nothing.
func TestFoldersAndSidesThatAreNotDrivenYet(t *testing.T) {
	for _, text := range []string{"before = [\"before\"]\nafter = [\"empty/*.csv\"]\n", "before = [\"before/*.csv\"]\nafter = [\"empty\"]\n"} {
		path := folder(t, text, drives...)
		if err := os.Mkdir(filepath.Join(filepath.Dir(path), "empty"), 0o755); err != nil {
			t.Fatal(err)
		}
		j, warnings, err := Load(path)
		if err != nil || len(j.Before) != 2 || len(j.After) != 0 {
			t.Fatalf("%+v %v", j, err)
		}
		if len(warnings) != 1 || !strings.Contains(warnings[0], "empty") || !strings.Contains(warnings[0], "without that side") {
			t.Errorf("%q", warnings)
		}
	}
	path := folder(t, "after = [\"empty/*.csv\"]\n", drives...)
	if err := os.Mkdir(filepath.Join(filepath.Dir(path), "empty"), 0o755); err != nil {
		t.Fatal(err)
	}
	if _, _, err := Load(path); err == nil || !strings.Contains(err.Error(), `"empty/*.csv" matches no file`) {
		t.Errorf("nothing at all to judge: %v", err)
	}
}

func TestErrorsSayWhatWhereAndWhatToDo(t *testing.T) {
	const ok = "before = [\"before/*.csv\"]\n"
	for _, c := range []struct{ name, text, want string }{
		{"no side", "title = \"x\"\n", "no recordings: give before, after, or both"},
		{"no match", "before = [\"nothing/*.csv\"]\n", `job.toml:1:1: before "nothing/*.csv" matches no file; looked for `},
		{"no folder", "before = [\"nothing/*.csv\"]\nafter = [\"before/*.csv\"]\n", "that folder is not there"},
		{"one pattern of a side", "before = [\"before/*.csv\", \"before/*.tsv\"]\n", `"before/*.tsv" matches no file`},
		{"bad pattern", "before = [\"before/[\"]\n", "is no pattern"},
		{"empty name", "before = [\"\"]\n", "empty name"},
		{"both sides", "before = [\"before/*.csv\"]\nafter = [\"before/b1.csv\"]\n", "stands on the before side too"},
		{"unknown key", ok + "sight = \"road\"\n", `job.toml:2:1: unknown key "sight"; the nearest known key is "site"`},
		{"site", ok + "site = \"moon\"\n", "must be one of road, rollers"},
		{"dry rollers", ok + "site = \"rollers\"\ndry_road = true\n", "job.toml:3:1: dry_road is told of a drive on rollers"},
		{"margin", ok + "margin_pct = 0\n", "above 0"},
		{"window", ok + "window_rpm = [3500, 1500]\n", "lower first"},
		{"negative km", ok + "km_since_fitted = -1\n", "zero or more"},
		{"two units", ok + "bed_in_km = 1\nbed_in_miles = 1\n", "gives once more"},
		{"runs", ok + "runs_per_side = 2.5\n", "whole number"},
		{"part without inertia", ok + "[[part]]\nname = \"flywheel\"\n", "weight alone is no inertia"},
		{"single part", ok + "[part]\nname = \"flywheel\"\n", "[[part]], once for each"},
		{"part twice", ok + "[[part]]\ninertia_change_kgm2 = -0.1\nbefore_inertia_kgm2 = 1\n", "gives once more"},
		{"part sd", ok + "[[part]]\ninertia_change_kgm2 = -0.1\ninertia_change_sd_kgm2 = 0\n", "above zero"},
		{"part unit", ok + "[[part]]\nbefore_inertia_kgm2 = 1510\nafter_inertia_kgm2 = 3\n", "between 0 and 20"},
		{"half a part sd", ok + "[[part]]\ninertia_change_kgm2 = -0.1\nbefore_inertia_sd_kgm2 = 1\n", "other side"},
		{"empty claim", ok + "[claim]\n", "claims nothing"},
		{"power without speed", ok + "[claim]\npower_kw = 150\n", "needs at_rpm: a clutch holds torque, so a claim in power needs the engine speed"},
		{"mass without gear", ok + "[claim]\nequivalent_mass_lb = 250\n", "needs gear"},
		{"gear alone", ok + "[claim]\ngear = 1\ntorque_nm = 3\n", "stands alone"},
		{"two claims", ok + "[claim]\ntorque_nm = 1\npower_kw = 1\nat_rpm = 3000\n", "is a second promise beside torque_nm"},
		{"two promises of one change", ok + "[claim]\nsaved_s = 1\nequivalent_mass_kg = 1\ngear = 1\n", "a second promise beside equivalent_mass_kg"},
		{"acceleration without gear", ok + "[claim]\nacceleration_gain_pct = 6\n", "needs gear"},
		{"half a span", ok + "[claim]\nsaved_s = 1\ngear = 1\nto_kmh = 50\n", "other end of the span"},
		{"span backwards", ok + "[claim]\nsaved_s = 1\ngear = 1\nfrom_kmh = 60\nto_kmh = 50\n", "above the speed that the span begins with"},
		{"span alone", ok + "[claim]\ntorque_nm = 1\nfrom_kmh = 20\nto_kmh = 50\n", "belongs to saved_s"},
		{"zero claim", ok + "[claim]\ntorque_nm = 0\n", "above zero"},
		{"session without side", ok + "[[session]]\nfiles = [\"before/b1.csv\"]\n", "needs side"},
		{"session twice", "[[session]]\nside=\"before\"\nfiles = \"before/*.csv\"\n[[session]]\nside=\"after\"\nfiles = \"before/b1.csv\"\n", "another [[session]]"},
		{"session other side", "after = [\"before/*.csv\"]\n[[session]]\nside=\"before\"\nfiles = \"before/b1.csv\"\n", "stands on the before side too"},
		{"exclude without reason", ok + "[[exclude]]\nfiles = \"before/b1.csv\"\n", "and a reason"},
		{"everything out", ok + "[[exclude]]\nfiles = \"before/*.csv\"\nreason = \"x\"\n", "at least one must be left"},
	} {
		_, _, err := Load(folder(t, c.text, drives...))
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v\n want one line with %q", c.name, err, c.want)
		}
	}
	if _, _, err := Load(filepath.Join(t.TempDir(), "no.toml")); err == nil {
		t.Error("missing file loads")
	}
}

func TestPartWithoutUncertaintyWarns(t *testing.T) {
	j, warnings, err := Load(folder(t, "before = \"before/*.csv\"\n[[part]]\nname = \"disc\"\nbefore_inertia_lbft2 = 1\nafter_inertia_kgm2 = 0.03\n[[part]]\nname=\"cover\"\ninertia_change_kgm2 = -0.01\n", drives...))
	if err != nil || len(warnings) != 2 || !strings.Contains(warnings[0], "(disc)") {
		t.Fatalf("%v %q", err, warnings)
	}
	if want := 0.03 * math.Hypot(0.0421401, 0.03); math.Abs(j.Parts[0].ChangeSD-want) > 1e-6 || math.Abs(j.Parts[1].ChangeSD-0.0005) > 1e-12 {
		t.Errorf("%+v", j.Parts)
	}
}

func TestPositiveInertiaClaimWarns(t *testing.T) {
	_, warnings, err := Load(folder(t, "before = \"before/*.csv\"\n[claim]\ninertia_change_kgm2 = 0.05\n", drives...))
	if err != nil || len(warnings) != 1 || !strings.Contains(warnings[0], "negative") {
		t.Errorf("%v %q", err, warnings)
	}
}

func TestBeddingIn(t *testing.T) {
	km := func(x float64) *float64 { return &x }
	for _, c := range []struct {
		j     Job
		early bool
		need  float64
	}{
		{Job{}, false, 500}, {Job{KmSinceFitted: km(100)}, true, 500}, {Job{KmSinceFitted: km(500)}, false, 500},
		{Job{KmSinceFitted: km(600), BedInKm: km(800)}, true, 800}, {Job{KmSinceFitted: km(0), BedInKm: km(0)}, false, 0},
	} {
		if early, need := c.j.BeddingIn(); early != c.early || need != c.need {
			t.Errorf("%+v: %v %g", c.j, early, need)
		}
	}
}

func FuzzLoad(f *testing.F) {
	f.Add([]byte(whole))
	f.Add([]byte("before = [\"*\"]\n[claim]\npower_kw = 1\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		path := filepath.Join(t.TempDir(), "job.toml")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		j, _, err := Load(path)
		switch {
		case err != nil && strings.Contains(err.Error(), "\n"):
			t.Errorf("error of two lines: %q", err)
		case err == nil && len(j.Before)+len(j.After) == 0:
			t.Error("a job without recordings")
		}
	})
}
