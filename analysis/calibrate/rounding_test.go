package calibrate

import "testing"

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
