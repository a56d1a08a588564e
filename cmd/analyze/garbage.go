package main

import (
	"os"
	"runtime"
	"runtime/debug"
	"runtime/metrics"

	"flywitness/drive"
)

const (
	numbersShare = 1.5      // of the bytes of the numbers that were read, which memory may have before garbage is looked for,
	besideThem   = 52 << 20 // and so many more
	mostGarbage  = 24 << 20 // bytes that memory may have beside what is in use where that is more,
	leastGarbage = 0.1      // or this share of it: collecting takes time that one can see
)

// boundGarbage keeps the memory of a command near what its logs need. Who sets GOGC decides himself.
func boundGarbage(logs []*drive.Log) {
	if os.Getenv("GOGC") != "" {
		return
	}
	size := 0
	for _, l := range logs {
		for _, c := range l.Channels {
			size += 8 * len(c.V)
		}
	}
	most := int64(numbersShare*float64(size)) + besideThem
	limit := most
	debug.SetMemoryLimit(limit)
	afterCollecting(func() (again bool) {
		if debug.SetMemoryLimit(-1) != limit {
			return false // there are other logs now
		}
		used := inUse()
		limit = max(most, used+max(mostGarbage, int64(leastGarbage*float64(used))))
		debug.SetMemoryLimit(limit)
		return true
	})
}

// inUse is how many bytes were no garbage when it was collected last.
func inUse() int64 {
	live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	metrics.Read(live)
	return int64(live[0].Value.Uint64())
}

// afterCollecting calls do after every collection of garbage until it returns false: a thing that nobody has is found by each.
func afterCollecting(do func() (again bool)) {
	type thing struct{ _ [4]uint64 } // large enough to be found for itself
	var found func(*thing)
	found = func(t *thing) {
		if do() {
			runtime.SetFinalizer(t, found)
		}
	}
	runtime.SetFinalizer(new(thing), found)
}
