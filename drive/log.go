// Package drive holds a recorded drive: channels of measured values, each with its own time stamps.
//
// Two values polled one after another were never simultaneous, so they are never put on one clock here; whoever needs
// both at one moment (analysis/calibrate) says how it interpolates.
package drive

import (
	"cmp"
	"math"
	"slices"
	"time"

	"flywitness/finding"
	"flywitness/internal/order"
)

// Channel is one measured quantity. T (seconds since the log's start, in arrival order) and V (in the unit that Name
// carries) have equal length; T[i] is the best estimate of the moment at which V[i] was true in the control unit.
// Callers do not change T or V of a channel they were given.
type Channel struct {
	Name   string
	T, V   []float64
	Source string // the column heading or request it came from, as written
	Unit   string // the unit it was written in, as written; "" when it was the canonical one
}

// Len returns the number of samples.
func (c *Channel) Len() int { return len(c.T) }

// InOrder returns the finite samples of c in the order of their time stamps; nil where there are none, or no channel. A
// channel that is so already shares its samples: whoever asks must not change them.
func (c *Channel) InOrder() (t, v []float64) {
	if c == nil || len(c.T) != len(c.V) {
		return nil, nil
	}
	whole, sorted, last := true, true, math.Inf(-1)
	for i, x := range c.T {
		if !Finite(x) || !Finite(c.V[i]) {
			whole = false
			continue
		}
		sorted = sorted && x >= last
		last = x
	}
	if whole && sorted {
		return c.T, c.V
	}
	var order []int
	for i, x := range c.T {
		if Finite(x) && Finite(c.V[i]) {
			order = append(order, i)
		}
	}
	if !sorted {
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(c.T[a], c.T[b]) })
	}
	for _, i := range order {
		t, v = append(t, c.T[i]), append(v, c.V[i])
	}
	return t, v
}

// Finite tells whether x is a number, and no infinite one: what is none does not differ from itself by zero.
func Finite(x float64) bool { return x-x == 0 }

// Field is one "# key: value" line of a session file, in file order.
type Field struct{ Key, Value string }

// Note is a remark of the recorder at time T, in seconds since the log's start.
type Note struct {
	T    float64
	Text string
}

// Warning is something that the user should know and that stopped nothing.
type Warning = finding.Finding

// Log is one recorded drive.
type Log struct {
	Path    string // as given by the user; "-" for standard input
	SHA256  string // of the bytes as they lie on disk, in hexadecimal
	Created time.Time
	Header  []Field // what a session file says of itself: free keys allowed
	Rows    int     // data rows read
	Skipped int     // data rows that could not be read, each named in Warnings (the first few) and counted here
	Torn    int     // of Skipped: a last line that broke off when the recording ended
	Notes   []Note  // what the recorder noted between the rows

	Channels []*Channel // in file order, each name once

	// StampStep is the step of the time stamps as they were written (1 for whole seconds), 0 when it is fine enough not
	// to matter. Readers spread whole-second stamps; T then carries an error of a fraction of this step.
	StampStep float64
	// Held tells that the logger repeated old values until a new one came (sample and hold). Readers keep fresh values only.
	Held bool

	// Clocks is how many clocks stamped the channels; 0 and 1: one did.
	Clocks int

	Warnings []Warning
}

// Channel returns the channel of that canonical name, or nil.
func (l *Log) Channel(name string) *Channel {
	for _, c := range l.Channels {
		if c.Name == name {
			return c
		}
	}
	return nil
}

// Only returns the log with no other channels than those named; what it shares with l is not copied.
func (l *Log) Only(names ...string) *Log {
	out := *l
	out.Channels = nil
	for _, c := range l.Channels {
		if slices.Contains(names, c.Name) {
			out.Channels = append(out.Channels, c)
		}
	}
	return &out
}

// HeaderValue returns the value of a header key, "" when it is absent.
func (l *Log) HeaderValue(key string) string {
	for _, f := range l.Header {
		if f.Key == key {
			return f.Value
		}
	}
	return ""
}

// Span returns the earliest and the latest time stamp of any channel in seconds; 0, 0 for an empty log.
func (l *Log) Span() (first, last float64) {
	first, last = math.Inf(1), math.Inf(-1)
	for i, c := range l.Channels {
		if slices.ContainsFunc(l.Channels[:i], c.SharesStamps) {
			continue
		}
		from, to := order.Bounds(c.T)
		first, last = min(first, from), max(last, to)
	}
	if first > last {
		return 0, 0
	}
	return first, last
}

// SharesStamps tells whether two channels have one slice of times.
func (c *Channel) SharesStamps(o *Channel) bool {
	return len(c.T) > 0 && len(c.T) == len(o.T) && &c.T[0] == &o.T[0]
}
