//go:build race

package slip_test

const raceOn = true // the race detector takes ten times as long
