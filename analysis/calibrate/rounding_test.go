package calibrate

import (
	"math"
	"testing"

	"flywitness/drive"
)

// Thirds and eighths of a km/h are the means of whole ones, tenths and what no whole number of makes one are a car's own.
func TestStepOfTheCarBehindAMean(t *testing.T) {
	for _, c := range []struct{ step, want float64 }{{1, 1}, {0.5, 1}, {0.33, 1}, {0.125, 1}, {0.1, 0.1}, {0.4, 0.4}} {
		p := pool{channel: drive.VehicleSpeed, step: c.step}
		if got := p.carStep(); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("steps of %g km/h in the log: %g of the car", c.step, got)
		}
	}
}

// Eight blocks of ten seconds that nearly all fit one way of rounding better tell which it is. Three that do by chance tell
// nothing: their own spread is not known.
func TestFewBlocksDoNotTellTheRounding(t *testing.T) {
	for _, c := range []struct {
		blocks int
		sure   bool
	}{{3, false}, {8, true}} {
		var a, b solution
		for i := range c.blocks {
			a.blocks = append(a.blocks, blockScore{block: i, sum: 0.30})
			b.blocks = append(b.blocks, blockScore{block: i, sum: 0.10 + 0.02*float64(i%3)})
		}
		if got := preference(&a, &b) > roundingSure; got != c.sure {
			t.Errorf("%d blocks: sure %v", c.blocks, got)
		}
	}
}
