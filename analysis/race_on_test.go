//go:build race

package analysis_test

const tenHoursLogs = 6 // the race detector takes ten times as long
