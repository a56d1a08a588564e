package parts

import (
	"runtime"
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

// No more parts are in work than there are cores, and what one leaves in its memory the next one there finds.
func TestPartsShareTheCores(t *testing.T) {
	cores := runtime.GOMAXPROCS(0)
	var now, most, memories, parts atomic.Int64
	Reusing(64*cores, 1, func(_, _ int, memory *int) {
		for in := now.Add(1); ; {
			if seen := most.Load(); in <= seen || most.CompareAndSwap(seen, in) {
				break
			}
		}
		for range 100 {
			runtime.Gosched() // to any other that was begun
		}
		if *memory++; *memory == 1 {
			memories.Add(1)
		}
		parts.Add(1)
		now.Add(-1)
	})
	if most.Load() > int64(cores) || memories.Load() > int64(cores) || parts.Load() != int64(64*cores) {
		t.Errorf("%d parts, %d of them at once with %d memories on %d cores", parts.Load(), most.Load(), memories.Load(), cores)
	}
}
