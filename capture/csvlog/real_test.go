package csvlog

import (
	"os"
	"path/filepath"
	"testing"

	"flywitness/drive"
)

// The recordings of a real car in the folder FLYWITNESS_REAL are read with no options. They have whole-second stamps, repeated rows, no units and a time
// column with a misspelt name; one reply of engine speed comes about every 1.85 s.
func TestRealDrives(t *testing.T) {
	dir := os.Getenv("FLYWITNESS_REAL")
	files, _ := filepath.Glob(filepath.Join(dir, "*.csv"))
	if dir == "" || len(files) == 0 {
		t.Skip("FLYWITNESS_REAL names no folder with logs")
	}
	for _, f := range files {
		t.Run(filepath.Base(f), func(t *testing.T) {
			file, err := os.Open(f)
			if err != nil {
				t.Fatal(err)
			}
			defer file.Close()
			l, err := read(file, f, Options{})
			if err != nil {
				t.Fatal(err)
			}
			n := l.Channel(drive.EngineSpeed)
			if n == nil || l.Channel(drive.VehicleSpeed) == nil {
				t.Fatal("no engine speed or no speed")
			}
			first, last := l.Span()
			every := (last - first) / float64(n.Len()-1)
			if every < 1.75 || every > 2.0 {
				t.Errorf("a fresh engine speed every %.3f s, want about 1.87", every)
			}
			if l.StampStep != 1 || !l.Held || l.Skipped != 0 {
				t.Errorf("step %g, held %v, skipped %d", l.StampStep, l.Held, l.Skipped)
			}
			if first != 0 {
				t.Errorf("begins at %g s", first)
			}
			for _, c := range l.Channels {
				t.Logf("%-24s %5d samples %.3f Hz resolution %g from %q", c.Name, c.Len(), c.Rate(), drive.Resolution(c), c.Source)
				for i := 1; i < c.Len(); i++ {
					if c.T[i] < c.T[i-1] {
						t.Fatalf("%s steps back at %g s", c.Name, c.T[i])
					}
				}
			}
			for _, w := range l.Warnings {
				t.Log(w.Code, w.String())
			}
		})
	}
}
