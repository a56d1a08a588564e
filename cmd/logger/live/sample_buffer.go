// Package live judges a recording while it runs, by the same code that judges it afterwards: which gear is in, whether the
// clutch is locked or slips, and which runs can be used so far.
package live

import (
	"sync"

	"flywitness/capture"
	"flywitness/drive"
)

// maxSamples bounds what is kept of a channel; the older half goes when it is full. Two hours at 40 values a second.
const maxSamples = 300_000

// SampleBuffer keeps the recording in memory. It may be used from several goroutines.
type SampleBuffer struct {
	mu       sync.Mutex
	channels []*drive.Channel
	index    map[string]int
	rows     int
}

// NewSampleBuffer returns an empty book.
func NewSampleBuffer() *SampleBuffer { return &SampleBuffer{index: map[string]int{}} }

// Add takes a sample.
func (b *SampleBuffer) Add(s capture.Sample) {
	b.mu.Lock()
	defer b.mu.Unlock()
	i, ok := b.index[s.Channel]
	if !ok {
		i = len(b.channels)
		b.index[s.Channel] = i
		b.channels = append(b.channels, &drive.Channel{Name: s.Channel})
	}
	c := b.channels[i]
	if len(c.T) >= maxSamples {
		c.T = append([]float64(nil), c.T[len(c.T)/2:]...)
		c.V = append([]float64(nil), c.V[len(c.V)/2:]...)
	}
	c.T, c.V = append(c.T, s.T), append(c.V, s.V)
	b.rows++
}

// Log returns the recording from a time on, in s. What it returns does not change when more is added.
func (b *SampleBuffer) Log(from float64) *drive.Log {
	b.mu.Lock()
	defer b.mu.Unlock()
	l := &drive.Log{Path: "recording", Rows: b.rows}
	for _, c := range b.channels {
		i := len(c.T)
		for i > 0 && c.T[i-1] >= from {
			i--
		}
		if i == len(c.T) {
			continue
		}
		// the samples of a channel are only ever added behind these, or moved away whole
		l.Channels = append(l.Channels, &drive.Channel{Name: c.Name, T: c.T[i:len(c.T):len(c.T)], V: c.V[i:len(c.V):len(c.V)]})
	}
	return l
}

// Last returns the last value of a channel and its time; ok is false when there is none.
func (b *SampleBuffer) Last(channel string) (t, v float64, ok bool) {
	b.mu.Lock()
	defer b.mu.Unlock()
	i, have := b.index[channel]
	if !have {
		return 0, 0, false
	}
	c := b.channels[i]
	return c.T[len(c.T)-1], c.V[len(c.V)-1], true
}
