package main

import (
	"bytes"
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"flywitness/drive"
	"flywitness/job"
	"flywitness/vehicle"
)

const kept = "../../testdata/demo"

// The folder in the repository is what the program makes today.
func TestDemoIsCurrent(t *testing.T) {
	if runtime.GOARCH != "amd64" {
		t.Skip("other processors round the last digit otherwise")
	}
	dir := filepath.Join(t.TempDir(), "demo")
	if err := write(dir); err != nil {
		t.Fatal(err)
	}
	files := 0
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		files++
		rel, _ := filepath.Rel(dir, path)
		want, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		got, err := os.ReadFile(filepath.Join(kept, rel))
		if err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s is not current (%v): rm -r testdata/demo; go run ./sim/demodata -out testdata/demo", rel, err)
		}
		return nil
	})
	if err != nil || files != 8 {
		t.Fatalf("%d files, %v", files, err)
	}
}

// The files are read by those who read a user's files, without a complaint.
func TestDemoIsReadable(t *testing.T) {
	j, warnings, err := job.Load(filepath.Join(kept, "job.toml"))
	if err != nil || len(warnings) > 0 || len(j.Before) != 2 || len(j.After) != 2 {
		t.Fatalf("job: %v %v", warnings, err)
	}
	v, warnings, err := vehicle.Load(j.Vehicle)
	if err != nil || len(warnings) > 0 {
		t.Fatalf("vehicle: %v %v", warnings, err)
	}
	if r := v.RollingCircumference / tired().Vehicle.RollingCircumference; r < 0.99 || r > 1.01 {
		t.Errorf("the tyre of the vehicle file rolls %.4f of the true car's", r)
	}
	for _, s := range append(j.Before, j.After...) {
		for _, path := range s.Files {
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			l, err := drive.ReadSession(bytes.NewReader(data), path)
			if err != nil {
				t.Fatal(err)
			}
			if len(l.Warnings) > 0 || l.Skipped > 0 || l.Rows < 3000 {
				t.Errorf("%s: %d rows, %d skipped, %v", path, l.Rows, l.Skipped, l.Warnings)
			}
		}
	}
}

// The story of the demo: the old clutch slips in the higher gears and worse when hot, the new one holds.
func TestDemoTellsItsStory(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(kept, "truth.json"))
	if err != nil {
		t.Fatal(err)
	}
	var tr truth
	if err := json.Unmarshal(data, &tr); err != nil {
		t.Fatal(err)
	}
	for i, s := range tr.Sessions {
		before := i < 2
		if before == (len(s.Slips) == 0) {
			t.Errorf("%s: %d slips", s.Path, len(s.Slips))
		}
		for _, e := range s.Slips {
			if e.Gear < 3 {
				t.Errorf("%s slips in %d", s.Path, e.Gear)
			}
		}
		if n := len(s.Slips); n > 1 && s.Slips[n-1].OnsetTorque > s.Slips[0].OnsetTorque-5 {
			t.Errorf("%s does not slip earlier when hot: %+v", s.Path, s.Slips)
		}
	}
	if m := tr.ByGear[0].EquivalentMass; m < 110 || m > 116 {
		t.Errorf("equivalent mass in first is %.1f kg, the claim in the job file says 110", m)
	}
}
