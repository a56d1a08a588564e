//go:build race

package report

const raceOn = true
