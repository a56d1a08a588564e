package analysis

import (
	"slices"
	"testing"
	"time"

	"flywitness/drive"
)

// Logs stand in the order in which they were recorded, whatever their files are called, and keep their
// sessions; where one does not say when, as they were given.
func TestLogsInOrderOfTime(t *testing.T) {
	at := func(path string, hour int) *drive.Log {
		l := &drive.Log{Path: path}
		if hour > 0 {
			l.Created = time.Date(2026, 3, 26, hour, 0, 0, 0, time.UTC)
		}
		return l
	}
	for _, c := range []struct {
		name     string
		logs     []*drive.Log
		sessions []int
		paths    []string
		want     []int
	}{
		{"by name", []*drive.Log{at("friday", 15), at("thursday", 9)}, nil, []string{"thursday", "friday"}, nil},
		{"in sessions", []*drive.Log{at("c", 15), at("a", 9), at("b", 10)}, []int{0, 1, 0}, []string{"a", "b", "c"},
			[]int{0, 1, 1}},
		{"at one time", []*drive.Log{at("b", 9), at("a", 9)}, nil, []string{"b", "a"}, nil},
		{"undated", []*drive.Log{at("friday", 15), at("thursday", 0)}, []int{0, 1}, []string{"friday", "thursday"},
			[]int{0, 1}},
		{"none", nil, nil, nil, nil},
	} {
		given := slices.Clone(c.logs)
		got := Set{Logs: c.logs, Sessions: c.sessions}.inOrder()
		var paths []string
		for _, l := range got.Logs {
			paths = append(paths, l.Path)
		}
		if !slices.Equal(paths, c.paths) || !slices.Equal(got.Sessions, c.want) {
			t.Errorf("%s: %v, sessions %v", c.name, paths, got.Sessions)
		}
		if !slices.Equal(given, c.logs) {
			t.Errorf("%s: the caller's logs were moved", c.name)
		}
	}
}
