//go:build !race

package analysis_test

const tenHoursLogs = 30
