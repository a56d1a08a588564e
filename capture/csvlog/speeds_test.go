package csvlog

import (
	"fmt"
	"strings"
	"testing"

	"flywitness/drive"
	"flywitness/finding"
)

// The speed of a receiver that wanders by some tenths does not make a car move that stands for its free revs: its own speed is right to be zero.
func TestStandingCarBesideARestlessReceiver(t *testing.T) {
	for _, moves := range []bool{false, true} {
		var b strings.Builder
		b.WriteString("Time (s),Engine speed (rpm),Vehicle speed (km/h),GPS speed (km/h)\n")
		for i := range 200 {
			ground := 0.3 * float64(i%4)
			if moves {
				ground = float64(i % 40)
			}
			fmt.Fprintf(&b, "%.1f,%d,0,%.1f\n", 0.1*float64(i), 800+i, ground)
		}
		l, err := read(strings.NewReader(b.String()), "log.csv", Options{})
		if err != nil {
			t.Fatal(err)
		}
		if dead := hasWarning(l, finding.DeadSpeed); dead != moves || (l.Channel(drive.VehicleSpeed) == nil) != moves {
			t.Errorf("moves %v: it says %v", moves, l.Warnings)
		}
	}
}
