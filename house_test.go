// Package flywitness_test checks the shape of the house: which package may import which.
package flywitness_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// arrows: a package below the first path may not import one below the others. Tests may.
var arrows = []struct{ from, not string }{
	{"drive", "analysis"}, {"drive", "capture"}, {"drive", "dashboards"}, {"drive", "vehicle"}, {"drive", "sim"},
	{"vehicle", "analysis"}, {"vehicle", "capture"}, {"vehicle", "dashboards"}, {"vehicle", "drive"}, {"vehicle", "sim"},
	{"analysis", "capture"}, {"analysis", "dashboards"}, {"analysis", "cmd"}, {"analysis", "sim"},
	{"capture", "analysis"}, {"capture", "dashboards"}, {"capture", "cmd"},
	{"dashboards", "capture"}, {"dashboards", "cmd"}, {"dashboards", "sim"},
	{"figure", "drive"}, {"figure", "analysis"}, {"figure", "capture"}, {"figure", "dashboards"}, {"figure", "cmd"},
	{"finding", "drive"}, {"finding", "analysis"}, {"finding", "capture"}, {"finding", "dashboards"}, {"finding", "cmd"}, {"figure", "finding"},
	{"job", "analysis"}, {"job", "capture"}, {"job", "dashboards"}, {"job", "cmd"}, {"job", "drive"}, {"job", "sim"}, {"vehicle", "job"}, {"drive", "job"},
	{"vehicle/tomlfile", "vehicle"},
	// What floors alone do not tell: who finds is not told by who learns, and slip and inertia are two witnesses.
	{"analysis/detect", "analysis/calibrate"}, {"analysis/inertia", "analysis/detect"}, {"analysis/slip", "analysis/inertia"},
	{"analysis/torquecurve", "analysis/inertia"}, {"analysis/fleet", "analysis/compare"},
	{"sim", "analysis"}, {"sim", "capture"}, {"sim", "dashboards"},
}

// floors is the pipeline of the analysis from below: a package may import from the floors below its own alone, and every package has its floor.
var floors = []string{
	"stats practice",
	"gearstate",
	"calibrate clocks motion promise part air",
	"gearing detect inertia",
	"slip fleet drag",
	"torquecurve",
	"compare",
	"plan",
}

// floorOf returns the floor of a package of the analysis, -1 where it has none.
func floorOf(path string) int {
	name, ok := strings.CutPrefix(path, "flywitness/analysis/")
	if !ok {
		return -1
	}
	name, _, _ = strings.Cut(name, "/")
	return slices.IndexFunc(floors, func(f string) bool { return slices.Contains(strings.Fields(f), name) })
}

func below(path, folder string) bool {
	rel, ok := strings.CutPrefix(path, "flywitness/")
	return ok && (rel == folder || strings.HasPrefix(rel, folder+"/"))
}

func TestArrowsPointOneWay(t *testing.T) {
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", "./...").Output()
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for dec := json.NewDecoder(bytes.NewReader(out)); ; seen++ {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		mine := floorOf(p.ImportPath)
		if mine < 0 && strings.HasPrefix(p.ImportPath, "flywitness/analysis/") {
			t.Errorf("%s has no floor: give it one in house_test.go, and a row of the map in DEVELOPERS.md", p.ImportPath)
		}
		for _, imp := range p.Imports {
			if theirs := floorOf(imp); mine >= 0 && theirs >= mine && !below(p.ImportPath, strings.TrimPrefix(imp, "flywitness/")) {
				t.Errorf("%s imports %s, which is not on a floor below (DEVELOPERS.md)", p.ImportPath, imp)
			}
			for _, a := range arrows {
				if below(p.ImportPath, a.from) && below(imp, a.not) {
					t.Errorf("%s imports %s: %s must not know %s (DEVELOPERS.md)", p.ImportPath, imp, a.from, a.not)
				}
			}
			if below(imp, "sim/field") && !below(p.ImportPath, "sim/demodata") {
				t.Errorf("%s imports %s: only tests, proofs and the demo may", p.ImportPath, imp)
			}
			if below(imp, "sim") && !below(p.ImportPath, "sim") && !below(p.ImportPath, "capture/emulator") && !below(p.ImportPath, "cmd") {
				t.Errorf("%s imports %s: only the emulator, commands, the demo and tests may", p.ImportPath, imp)
			}
		}
	}
	if seen < 10 {
		t.Fatalf("only %d packages seen: is this the module's root?", seen)
	}
}
