package fleet

import (
	"bytes"
	"testing"

	"flywitness/figure"
)

func BenchmarkPageOf100Vehicles(b *testing.B) {
	r := invented(100)
	for b.Loop() {
		var out bytes.Buffer
		if err := Write(&out, r, figure.Metric, ""); err != nil {
			b.Fatal(err)
		}
	}
}
