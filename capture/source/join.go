package source

import (
	"crypto/sha256"
	"encoding/hex"
	"math"
	"path/filepath"
	"strings"
	"time"

	"flywitness/drive"
	"flywitness/finding"
)

// join reads parts of one drive, each with some of its channels, and puts them on one clock. ok is false where they do not make one drive.
func join(names []string, parts []int, open func(name string) (*drive.Log, error)) (out *drive.Log, ok bool) {
	var logs []*drive.Log
	for _, i := range parts {
		l, err := open(names[i])
		if err != nil {
			return nil, false
		}
		logs = append(logs, l)
	}
	out, ok = together(logs)
	return out, ok && needChannels(out) == nil
}

// together is one log of the channels of several. They must all be dated, or all count from where one logger's clock does, and no channel may
// come twice.
func together(logs []*drive.Log) (*drive.Log, bool) {
	start, origin := earliest(logs)
	out := &drive.Log{Created: start, Clocks: len(logs)}
	sum := sha256.New()
	var files []string
	for _, l := range logs {
		if l.Created.IsZero() != start.IsZero() {
			return nil, false
		}
		shift := -origin
		if !start.IsZero() {
			shift = l.Created.Sub(start).Seconds()
		}
		for _, c := range l.Channels {
			if out.Channel(c.Name) != nil {
				return nil, false
			}
			moved := *c
			moved.T = make([]float64, len(c.T))
			for i, t := range c.T {
				moved.T[i] = math.Round((t+shift)*1e6) / 1e6
			}
			out.Channels = append(out.Channels, &moved)
		}
		out.Rows, out.Skipped, out.Torn = out.Rows+l.Rows, out.Skipped+l.Skipped, out.Torn+l.Torn
		out.StampStep, out.Held = max(out.StampStep, l.StampStep), out.Held || l.Held
		out.Warnings = append(out.Warnings, l.Warnings...)
		sum.Write([]byte(l.SHA256))
		files = append(files, filepath.Base(l.Path))
	}
	out.Path = filepath.Join(filepath.Dir(logs[0].Path), strings.Join(files, "+"))
	if logs[0].SHA256 != "" {
		out.SHA256 = hex.EncodeToString(sum.Sum(nil)) // of those of the files, one after another
	}
	out.Warnings = append(out.Warnings, finding.New(finding.JoinedFiles, finding.Name("file", out.Path), finding.Count("files", len(logs))))
	return out, true
}

// earliest returns when the first of the logs began, and the first time in any of them, in s.
func earliest(logs []*drive.Log) (start time.Time, first float64) {
	first = math.Inf(1)
	for i, l := range logs {
		if i == 0 || l.Created.Before(start) {
			start = l.Created
		}
		from, _ := l.Span()
		first = min(first, from)
	}
	return start, first
}
