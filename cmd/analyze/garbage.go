package main

import (
	"os"
	"runtime"
	"runtime/debug"
	"runtime/metrics"

	"flywitness/drive"
)

const (
	numbersShare = 1.5      // of the bytes of the numbers that were read, which values may have before garbage is looked for,
	besideThem   = 20 << 20 // and so many more
	mostGarbage  = 24 << 20 // bytes that they may have beside what is in use where that is more,
	leastGarbage = 0.03     // or this share of it: collecting takes time that one can see
	leastInUse   = 4 << 20  // bytes that the runtime reckons with where less is in use
)

// boundGarbage keeps the memory of a command near what its logs need. Who sets GOGC decides himself. All memory is not
// limited: near a limit the runtime gives back to the system what it asks for again a moment later.
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
	percent := -1
	bound := func() (again bool) {
		if now := debug.SetGCPercent(-1); percent >= 0 && now != percent { // there are other logs now
			debug.SetGCPercent(now)
			return false
		}
		used := max(inUse(), leastInUse)
		garbage := max(most-used, mostGarbage, int64(leastGarbage*float64(used)))
		percent = int(100 * garbage / used)
		debug.SetGCPercent(percent)
		return true
	}
	bound()
	afterCollecting(bound)
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
