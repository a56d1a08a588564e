// Package parts works on what a long drive has many of, on all cores.
package parts

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// Long is how many samples make a part that is worth a goroutine.
const Long = 1 << 15

// Each works on parts [lo, hi) of n, each of so many but the last. No more are begun than there are cores.
func Each(n, size int, do func(lo, hi int)) {
	Reusing(n, size, func(lo, hi int, _ *struct{}) { do(lo, hi) })
}

// Reusing is Each with some memory for what a part needs for itself. The next part on the same core gets what the last
// one left there.
func Reusing[M any](n, size int, do func(lo, hi int, memory *M)) {
	if n <= size {
		if n > 0 {
			do(0, n, new(M))
		}
		return
	}
	var begun atomic.Int64
	work := func() {
		var memory M
		for {
			hi := int(begun.Add(int64(size)))
			if hi-size >= n {
				return
			}
			do(hi-size, min(n, hi), &memory)
		}
	}
	var others sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), (n+size-1)/size) - 1 {
		others.Go(work)
	}
	work()
	others.Wait()
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
