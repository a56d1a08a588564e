// Package flywitness_test checks the shape of the house: which package may import which.
package flywitness_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"os/exec"
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
	// The floors of the analysis, from below.
	{"analysis/stats", "analysis/gearstate"}, {"analysis/gearstate", "analysis/calibrate"}, {"analysis/calibrate", "analysis/motion"},
	{"analysis/motion", "analysis/calibrate"}, {"analysis/motion", "analysis/detect"}, {"analysis/detect", "analysis/calibrate"}, {"analysis/detect", "analysis/slip"},
	{"analysis/slip", "analysis/inertia"}, {"analysis/slip", "analysis/compare"}, {"analysis/inertia", "analysis/slip"}, {"analysis/inertia", "analysis/compare"},
	{"sim", "analysis"}, {"sim", "capture"}, {"sim", "dashboards"},
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
		for _, imp := range p.Imports {
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
