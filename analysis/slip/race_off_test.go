//go:build !race

package slip_test

const raceOn = false
