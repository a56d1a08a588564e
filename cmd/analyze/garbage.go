package main

import (
	"os"
	"runtime"
	"runtime/debug"
	"runtime/metrics"

	"flywitness/drive"
)

const (
	mostGarbage  = 8 << 20 // bytes that may gather until they are collected
	leastGarbage = 5       // per cent of the memory in use; below, collecting takes time that one can see
	leastInUse   = 4 << 20 // bytes in use that Go counts at least
)

// boundGarbage keeps the memory of a command near what its logs need. Long columns of numbers cost next to nothing to
// look through, so with much in use garbage is collected sooner than usual. Who sets GOGC decides himself.
func boundGarbage(logs []*drive.Log) {
	size := 0
	for _, l := range logs {
		for _, c := range l.Channels {
			size += 8 * len(c.V)
		}
	}
	garbageBeside(size)
}

// garbageBeside sets how much garbage may gather beside so many bytes in use.
func garbageBeside(size int) {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(max(leastGarbage, 100*mostGarbage/max(size, leastInUse)))
	}
}

// letGo is told that the logs are no longer needed: what is still in use then bounds the garbage.
func letGo() {
	runtime.GC()
	live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	metrics.Read(live)
	garbageBeside(int(live[0].Value.Uint64()))
}
