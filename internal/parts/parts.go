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

// several is how many things of some ten microseconds each are worth a goroutine.
const several = 16

// Every works on each of n things that take a while, several by one goroutine: a day has thousands.
func Every(n int, do func(i int)) {
	Each(n, several, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			do(i)
		}
	})
}

// ByCore works on one part [lo, hi) of n for each core.
func ByCore(n int, do func(lo, hi int)) {
	cores := runtime.GOMAXPROCS(0)
	Each(n, max(1, (n+cores-1)/cores), do)
}
