package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"flywitness/cmd/internal/cli"
	"flywitness/internal/influxd"
	"flywitness/internal/numbers"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/spf13/cobra"
)

func TestMain(m *testing.M) {
	testscript.Main(withServer{m}, map[string]func(){
		"fw-analyze": func() { os.Exit(analyze(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
	})
}

// withServer ends the database that the tests share.
type withServer struct{ m *testing.M }

func (w withServer) Run() int { return influxd.Main(w.m) }

const demo = "../../testdata/demo"

func TestScripts(t *testing.T) {
	numbers.Only(t)
	dir, err := filepath.Abs(demo)
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:   "testdata/script",
		Setup: func(e *testscript.Env) error { return os.Symlink(dir, filepath.Join(e.WorkDir, "demo")) },
	})
}

// run runs a command line as it is typed.
func run(args ...string) (status int, stdout, stderr string) {
	var out, errs bytes.Buffer
	status = analyze(context.Background(), args, strings.NewReader(""), &out, &errs)
	return status, out.String(), errs.String()
}

// TestHelpExamples runs every line of help that begins with "$", from a folder that has the demo beside it.
func TestHelpExamples(t *testing.T) {
	numbers.Only(t)
	data, err := filepath.Abs("../../testdata")
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	if err := os.Symlink(data, "testdata"); err != nil {
		t.Fatal(err)
	}
	n := 0
	eachCommand(newRoot(), func(cmd *cobra.Command) {
		if !cmd.HasSubCommands() && cmd.Example == "" && cmd.Name() != "help" {
			t.Errorf("%s has no example in its help", cmd.CommandPath())
		}
		for _, line := range strings.Split(cmd.Long+"\n"+cmd.Example, "\n") {
			rest, ok := strings.CutPrefix(strings.TrimSpace(line), "$ fw-analyze ")
			if !ok || cmd.Name() == "serve" {
				continue
			}
			n++
			if status, out, errs := run(split(rest)...); status != 0 || out == "" {
				t.Errorf("%s: status %d, %s", line, status, errs)
			}
		}
	})
	if n < 5 {
		t.Errorf("only %d examples", n)
	}
	if st, err := os.Stat("demo-out/report.html"); err != nil || st.Size() > 1_500_000 {
		t.Errorf("the report of the demo is not there, or has more than 1.5 MB: %v", err)
	}
}

func eachCommand(c *cobra.Command, f func(*cobra.Command)) {
	f(c)
	for _, sub := range c.Commands() {
		eachCommand(sub, f)
	}
}

// split splits a command line at spaces outside single quotes.
func split(line string) (out []string) {
	for i, part := range strings.Split(line, "'") {
		if i%2 == 1 {
			out = append(out, part)
		} else {
			out = append(out, strings.Fields(part)...)
		}
	}
	return out
}

// log writes a small log and returns its path.
func log(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func vehicleWith(t *testing.T, old, new string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(demo, "mule.toml"))
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(data), old) {
		t.Fatalf("the demo's vehicle has no %q", old)
	}
	return log(t, "car.toml", strings.Replace(string(data), old, new, 1))
}

// TestBadInput feeds what cannot be used: one line that says what, where and what to do, exit 1, nothing on standard output.
func TestBadInput(t *testing.T) {
	good := filepath.Join(demo, "before/monday.csv")
	noEngine := log(t, "a.csv", "time_s,vehicle_speed_kmh\n0,10\n1,11\n2,12\n")
	noSpeed := log(t, "b.csv", "time_s,engine_speed_rpm\n0,900\n1,910\n2,920\n")
	empty := log(t, "empty.csv", "")
	binary := log(t, "binary.csv", "\x00\x01\x02\xff\xfe\x00binary\x00\n\x00\x00")
	for _, c := range []struct {
		name string
		args []string
		want []string
	}{
		{"missing log", []string{"slip", "nowhere.csv"}, []string{"nowhere.csv"}},
		{"glob that finds nothing", []string{"slip", "nowhere-*.csv"}, []string{"nowhere-*.csv"}},
		{"directory", []string{"slip", t.TempDir()}, []string{"folder|directory"}},
		{"no engine speed", []string{"slip", noEngine}, []string{"a.csv", "engine"}},
		{"no road speed", []string{"learn", noSpeed}, []string{"b.csv", "speed"}},
		{"empty", []string{"inertia", empty}, []string{"empty.csv", "empty"}},
		{"binary", []string{"slip", binary}, []string{"binary.csv"}},
		{"dry rollers", []string{"slip", good, "--rollers", "--dry-road"}, []string{"give one of them"}},
		{"missing vehicle", []string{"slip", good, "--vehicle", "nowhere.toml"}, []string{"nowhere.toml"}},
		{"unknown key", []string{"slip", good, "--vehicle", vehicleWith(t, "mass_kg", "mas_kg")}, []string{"car.toml:", "mas_kg", "mass_kg"}},
		{"zero mass", []string{"slip", good, "--vehicle", vehicleWith(t, "mass_kg = 1310", "mass_kg = 0")}, []string{"car.toml:", "mass"}},
		{"rising ratios", []string{"slip", good, "--vehicle", vehicleWith(t, "[3.42, 1.95", "[1.95, 3.42")}, []string{"car.toml:", "ratio"}},
		{"missing job", []string{"job", "nowhere.toml", "--out", t.TempDir()}, []string{"nowhere.toml"}},
		{"the same log on both sides", []string{"compare", "--before", good, "--after", good}, []string{"both sides"}},
		{"picture into no folder", []string{"slip", good, "--plot", filepath.Join(t.TempDir(), "none", "a.svg")}, []string{"no folder"}},
		{"column that is not there", []string{"slip", noEngine, "--map", "engine_speed_rpm=Nope"}, []string{"Nope"}},
	} {
		status, out, errs := run(c.args...)
		if status != cli.StatusInput || out != "" || strings.Count(errs, "\n") != 1 {
			t.Errorf("%s: status %d, %d bytes of output, %q", c.name, status, len(out), errs)
		}
		for _, w := range c.want {
			found := false
			for _, option := range strings.Split(w, "|") {
				found = found || strings.Contains(errs, option)
			}
			if !found {
				t.Errorf("%s: %q does not say %q", c.name, errs, w)
			}
		}
	}
}

func TestUnreadableLog(t *testing.T) {
	path := log(t, "secret.csv", "time_s,engine_speed_rpm,vehicle_speed_kmh\n0,900,0\n")
	if err := os.Chmod(path, 0); err != nil {
		t.Fatal(err)
	}
	if f, err := os.Open(path); err == nil {
		f.Close()
		t.Skip("this user may read everything")
	}
	if status, _, errs := run("slip", path); status != cli.StatusInput || strings.Count(errs, "\n") != 1 {
		t.Errorf("status %d, %q", status, errs)
	}
}

func TestWrongUsage(t *testing.T) {
	good := filepath.Join(demo, "before/monday.csv")
	for _, args := range [][]string{{"slip"}, {"slip", good, "--nope"}, {"compare", "--before", good}, {"compare"}, {"job", "a.toml"}, {"nope"},
		{"slip", good, "--units", "stone"}, {"slip", good, good}, {"slip", good, "--plot", "a.bmp"}, {"inertia", good, "--foot-on-clutch", "perhaps"},
		{"compare", "--before", good, "--after", good, "--margin-pct", "-1"}} {
		status, out, errs := run(args...)
		if status != cli.StatusUsage || out != "" || strings.Count(errs, "\n") != 2 || !strings.Contains(errs, "--help") {
			t.Errorf("%q: status %d, %q", args, status, errs)
		}
	}
}

// TestJSONHasTheNamesOfTheContract reads the result as another program would.
func TestJSONHasTheNamesOfTheContract(t *testing.T) {
	numbers.Only(t)
	for _, c := range []struct {
		args []string
		want []string
	}{
		{[]string{"learn", demo + "/before/monday.csv"}, []string{"calibration.gears", "calibration.speed_lag_s.ci95", "inputs", "tool.version", "warnings"}},
		{[]string{"slip", demo + "/before/monday.csv"}, []string{"slip.verdict", "slip.reason", "slip.pulls", "slip.events", "slip.engagements", "slip.smallest_detectable_pct", "slip.highest_torque_held_nm", "slip.onset_torque_nm", "slip.pattern", "slip.likely_causes"}},
		{[]string{"inertia", demo + "/before/monday.csv"}, []string{"inertia.runs", "inertia.methods", "inertia.inertia_kgm2", "inertia.methods_agree"}},
		{[]string{"compare", "--before", demo + "/before/*.csv", "--after", demo + "/after/*.csv"}, []string{"compare.verdict", "compare.change_below_pct", "compare.p_value", "compare.inertia_ratio_before_over_after", "compare.by_gear",
			"compare.drivability.idle_sd_rpm_before", "compare.claim", "compare.before.runs", "compare.after.runs", "compare.slip_before.verdict", "compare.slip_after.verdict"}},
	} {
		status, out, errs := run(append(c.args, "--json")...)
		if status != 0 {
			t.Fatalf("%q: %s", c.args, errs)
		}
		var tree map[string]any
		if err := json.Unmarshal([]byte(out), &tree); err != nil {
			t.Fatalf("%q: %v", c.args, err)
		}
		for _, name := range c.want {
			if !has(tree, strings.Split(name, ".")) {
				t.Errorf("%q: no %s", c.args, name)
			}
		}
	}
}

func has(tree any, path []string) bool {
	m, ok := tree.(map[string]any)
	if !ok {
		return false
	}
	v, ok := m[path[0]]
	return ok && (len(path) == 1 || has(v, path[1:]))
}

func BenchmarkJob(b *testing.B) {
	dir := b.TempDir()
	for b.Loop() {
		if status, _, errs := run("job", demo+"/job.toml", "--out", dir); status != 0 {
			b.Fatal(errs)
		}
	}
}
