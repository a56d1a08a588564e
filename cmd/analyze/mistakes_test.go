package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"flywitness/cmd/internal/cli"
	"flywitness/internal/numbers"
)

// exponent is a figure that nobody reads: 3.5e+03.
var exponent = regexp.MustCompile(`\d[eE][+-]?\d`)

// TestTypicalMistakes is what people do wrong in their first hour, with what they are told: one line that says what and
// what to do, and for a wrong command line a second that points to the help.
func TestTypicalMistakes(t *testing.T) {
	data, err := filepath.Abs(demo)
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	for _, side := range []string{"before", "after"} {
		copyLogs(t, filepath.Join(data, side), side)
	}
	write := func(name, text string) {
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for _, dir := range []string{"empty", "jobs"} {
		if err := os.Mkdir(dir, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	const log = "before/monday.csv"
	write("thousands.toml", "[vehicle]\nmass_kg = 1,310\n")
	write("fraction.toml", "[vehicle]\nmass_kg = 1310,5\n")
	write("commas.toml", "[vehicle]\nmass_kg = 1310\n[gearbox]\nratios = [3,42, 1,95]\n")
	write("heavy.toml", "[vehicle]\nmass_kg = 1310000\n")
	write("quoteless.toml", "[vehicle]\nname = Bench mule\n")
	write("nothing.toml", "before = [\"empty/*.csv\"]\n")
	write("misspelt.toml", "before = [\"befor/*.csv\"]\nafter = [\"after/*.csv\"]\n")
	write("sheet.xlsx", "PK\x03\x04\x14\x00\x06\x00")
	for _, c := range []struct {
		name   string
		line   string
		status int
		want   string
	}{
		{"command misspelt", "slp before", 2, `there is no command "slp"; did you mean "slip"?`},
		{"command forgotten", "before", 2, "before is a file or folder; say what to do with it: compare,"},
		{"flag misspelt", "slip " + log + " --vehcile car.toml", 2, "there is no flag --vehcile; did you mean --vehicle?"},
		{"one dash", "slip " + log + " -json", 2, "-json: a flag has two dashes: --json"},
		{"flag of another command", "slip --before " + log, 2, "--before is no flag of slip; it is one of fw-analyze compare"},
		{"value forgotten", "slip " + log + " --vehicle", 2, "--vehicle needs a value behind it: --vehicle FILE"},
		{"no rows a second", "slip " + log + " --rate 0", 2, `--rate cannot be "0": want rows a second from 0.1 to 1000`},
		{"no log", "slip", 2, "LOG... is missing: fw-analyze slip LOG..."},
		{"pattern without quotes", "compare --before before/monday.csv before/tuesday.csv --after after/friday.csv", 2,
			"before/tuesday.csv stands by itself behind --before: a shell turns a pattern without quotes into several names"},
		{"one side", "compare --before before", 2, "compare needs --before and --after; for one side alone use slip, inertia or job"},
		{"thousands in a flag", "plan --torque-nm 1,310", 2, "--torque-nm: 1,310 can mean two numbers; write 1310 for thousands, or 1.310 with a point for a fraction"},
		{"fraction in a flag", "plan --change-pct 7,5", 2, "--change-pct: 7,5: write the fraction behind a point: 7.5"},
		{"unit in a value", "plan --torque-nm 200nm", 2, "the unit is in the flag's name: write 200"},
		{"thousands in a file", "slip " + log + " --vehicle thousands.toml", 1,
			"thousands.toml:2:11: mass_kg: 1,310 can mean two numbers; write 1310 for thousands, or 1.310 with a point for a fraction"},
		{"fraction in a file", "slip " + log + " --vehicle fraction.toml", 1, "fraction.toml:2:11: mass_kg: 1310,5: write the fraction behind a point: 1310.5"},
		{"ratios with commas", "slip " + log + " --vehicle commas.toml", 1, "write fractions behind a point: 3.42, not 3,42"},
		{"grams for kilograms", "slip " + log + " --vehicle heavy.toml", 1, "mass_kg is 1310000; it must lie between 0 and 60000"},
		{"text without quotes", "slip " + log + " --vehicle quoteless.toml", 1, `quoteless.toml:2:8: name: write text in quotes: "Bench mule"`},
		{"log and vehicle swapped", "slip thousands.toml", 1, "thousands.toml is a vehicle or job file, no log"},
		{"vehicle and log swapped", "slip " + log + " --vehicle " + log, 1, "before/monday.csv is a log by its name; name a vehicle file (.toml)"},
		{"log for a job", "job " + log + " --out jobs", 1, "name a job file (.toml); fw-analyze job --new FOLDER writes one"},
		{"a spreadsheet", "slip sheet.xlsx", 1, "sheet.xlsx"},
		{"folder without logs", "slip empty", 1, "the folder empty holds no log"},
		{"folder above the logs", "slip .", 1, "name the folder that the recordings are in; there is after, before"},
		{"pattern that finds nothing", "slip 'before/*.tsv'", 1, "no file is called before/*.tsv"},
		{"file not there", "slip before/munday.csv", 1, "before/munday.csv"},
		{"same log twice", "slip " + log + " ./" + log, 2, "is named twice; each log counts once"},
		{"report as text document", "slip " + log + " --report out.docx", 2, "--report out.docx: end the file name in .html, or in .pdf to have it printed by a browser"},
		{"job without folder", "job nothing.toml", 2, "job needs --out DIR"},
		{"job with nothing driven", "job nothing.toml --out jobs", 1, `nothing.toml:1:1: before "empty/*.csv" matches no file`},
		{"job with a misspelt folder", "job misspelt.toml --out jobs", 1, "befor/*.csv, and that folder is not there"},
		{"job is a folder", "job jobs --out jobs", 1, "jobs: is a folder; name the file in it"},
		{"two commands", "compare slip", 2, `"compare" and "slip" are two commands; give one at a time`},
	} {
		status, out, errs := run(split(c.line)...)
		lines := 1
		if c.status == cli.StatusUsage {
			lines = 2
		}
		if status != c.status || out != "" || strings.Count(errs, "\n") != lines || !strings.Contains(errs, c.want) {
			t.Errorf("%s: fw-analyze %s: status %d, %q\n want %q", c.name, c.line, status, errs, c.want)
		}
		if found := exponent.FindString(errs); found != "" {
			t.Errorf("%s: the figure %s in %q", c.name, found, errs)
		}
	}
}

func copyLogs(t *testing.T, from, to string) {
	t.Helper()
	if err := os.CopyFS(to, os.DirFS(from)); err != nil {
		t.Fatal(err)
	}
}

// Folders stand for the logs in them, wherever logs are asked for.
func TestFoldersAreTaken(t *testing.T) {
	numbers.Only(t)
	for _, args := range [][]string{{"slip", demo + "/after"}, {"learn", demo + "/before/"}, {"inertia", demo + "/before"},
		{"compare", "--before", demo + "/before", "--after", demo + "/after"}, {"plan", "--log", demo + "/before"}} {
		if status, out, errs := run(args...); status != 0 || out == "" {
			t.Errorf("%q: %d, %s", args, status, errs)
		}
	}
}

// No figure of any text is written with an exponent.
func TestNoExponents(t *testing.T) {
	numbers.Only(t)
	car := []string{"--vehicle", filepath.Join(demo, "mule.toml")}
	for _, args := range [][]string{{"slip", demo + "/before"}, {"inertia", demo + "/before"}, {"learn", demo + "/after"}, {"plan"},
		{"compare", "--before", demo + "/before", "--after", demo + "/after"}, {"part", "disc", "--mass-kg", "7.8", "--outer-mm", "280"}} {
		for _, units := range []string{"metric", "us"} {
			status, out, errs := run(append(append(args, car...), "--units", units)...)
			if found := exponent.FindString(out + errs); status != 0 || found != "" {
				t.Errorf("%q: %d, %q", args, status, found)
			}
		}
	}
}
