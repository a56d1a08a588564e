package parts

import (
	"sync/atomic"
	"testing"
)

// Every one is worked on, once, whether the parts come out even or not.
func TestEveryOneIsWorkedOnOnce(t *testing.T) {
	for _, n := range []int{0, 1, 2, 7, 8, 9, 64, 65} {
		for name, each := range map[string]func(do func(lo, hi int)){
			"in eights": func(do func(lo, hi int)) { Each(n, 8, do) },
			"by core":   func(do func(lo, hi int)) { ByCore(n, do) },
			"each":      func(do func(lo, hi int)) { Every(n, func(i int) { do(i, i+1) }) },
		} {
			times := make([]atomic.Int32, n)
			each(func(lo, hi int) {
				for i := lo; i < hi; i++ {
					times[i].Add(1)
				}
			})
			for i := range times {
				if got := times[i].Load(); got != 1 {
					t.Errorf("%d %s: %d worked on %d times", n, name, i, got)
				}
			}
		}
	}
}
