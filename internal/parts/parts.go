// Package parts works on what a long drive has many of, on all cores.
package parts

import (
	"runtime"
	"sync"
)

// Long is how many samples make a part that is worth a goroutine.
const Long = 1 << 15

// Each works on parts [lo, hi) of n, each of so many but the last.
func Each(n, size int, do func(lo, hi int)) {
	if n <= size {
		if n > 0 {
			do(0, n)
		}
		return
	}
	var all sync.WaitGroup
	for lo := 0; lo < n; lo += size {
		all.Go(func() { do(lo, min(n, lo+size)) })
	}
	all.Wait()
}

// ByCore works on one part [lo, hi) of n for each core.
func ByCore(n int, do func(lo, hi int)) {
	cores := runtime.GOMAXPROCS(0)
	Each(n, max(1, (n+cores-1)/cores), do)
}
