package main

import (
	"os"
	"runtime/debug"

	"flywitness/drive"
)

const (
	mostGarbage  = 16 << 20 // bytes that may gather until they are collected
	leastGarbage = 10       // per cent of the memory in use; below, collecting takes time that one can see
	usualGarbage = 100      // per cent; what a Go program does
)

// boundGarbage keeps the memory of a command near what its logs need. Long columns of numbers cost next to nothing to
// look through, so with much in use garbage is collected sooner than usual. Who sets GOGC decides himself.
func boundGarbage(logs []*drive.Log) {
	size := 1
	for _, l := range logs {
		for _, c := range l.Channels {
			size += 8 * len(c.V)
		}
	}
	if percent := 100 * mostGarbage / size; percent < usualGarbage && os.Getenv("GOGC") == "" {
		debug.SetGCPercent(max(leastGarbage, percent))
	}
}
