package drive

import (
	"bytes"
	"fmt"
	"slices"

	"flywitness/internal/blocks"
	"flywitness/internal/order"
)

// sessionPart is the rows of one block of a session, read without knowing those before it.
type sessionPart struct {
	sessionReader
	bytes int
	times []float64 // of all rows
}

// readBlocks reads everything behind the column row in blocks, on all cores. size is the length of the file, 0 when nobody knows it.
func (s *sessionReader) readBlocks(size int64) (*Log, error) {
	cutter := &blocks.Cutter{R: s.in, EOL: '\n', Max: maxSessionLine + 2, Before: s.number}
	c := &collector{sessionReader: s, left: size - s.end, leader: make([]int, len(s.channels))}
	if err := blocks.Each(cutter, s.readPart, c.take); err != nil {
		return nil, fmt.Errorf("%s:%d: %w", s.log.Path, cutter.Lines()+1, err)
	}
	c.share()
	return s.finish()
}

// readPart reads the lines of a block.
func (s *sessionReader) readPart(b *blocks.Block, p *sessionPart) {
	p.reset(s, b)
	if b.Long {
		p.row(nil, !b.Cut) // its error is that of keep, which has none
		return
	}
	for text := b.Text; len(text) > 0; p.number++ {
		line, rest, whole := bytes.Cut(text, []byte{'\n'})
		if text = rest; len(line) > maxSessionLine+1 {
			line = nil
		}
		if n := len(line); n > 0 && line[n-1] == '\r' {
			line = line[:n-1]
		}
		p.row(line, whole)
	}
}

// reset empties p for the rows of b.
func (p *sessionPart) reset(s *sessionReader, b *blocks.Block) {
	channels := p.channels
	if channels == nil {
		for _, c := range s.channels {
			channels = append(channels, &Channel{Name: c.Name})
		}
	}
	for _, c := range channels {
		c.T, c.V = c.T[:0], c.V[:0]
	}
	p.sessionReader = sessionReader{log: &Log{}, number: b.Line, channels: channels, checked: s.checked, values: p.values}
	p.sessionReader.take = p.keep
	p.bytes, p.times = len(b.Text), p.times[:0]
}

// keep takes a row into the part. A channel that has a value in every row so far needs no times of its own.
func (p *sessionPart) keep(r Row) error {
	if r.Note != nil {
		p.log.Notes = append(p.log.Notes, *r.Note)
		return nil
	}
	rows := len(p.times)
	p.times = append(p.times, r.T)
	for _, c := range r.Cells {
		ch := p.channels[c.Channel]
		if len(ch.V) < rows {
			if len(ch.T) == 0 {
				ch.T = append(ch.T, p.times[:len(ch.V)]...)
			}
			ch.T = append(ch.T, r.T)
		}
		ch.V = append(ch.V, c.Value)
	}
	return nil
}

// timesOf returns the times of a channel's values.
func (p *sessionPart) timesOf(ch *Channel) []float64 {
	if len(ch.T) > 0 {
		return ch.T
	}
	return p.times[:len(ch.V)]
}

// collector puts parts one behind the other. Channels that have come in the same rows so far share one slice of times: leader is the first
// of those that a channel shares with, which holds it.
type collector struct {
	*sessionReader
	left   int64 // bytes of the file that are still to come, about; below 1: nobody knows
	leader []int
}

func (c *collector) take(p *sessionPart) error {
	c.left -= int64(p.bytes)
	for i, from := range p.channels {
		to, lead := c.channels[i], c.channels[c.leader[i]]
		times, same := p.timesOf(from), p.timesOf(p.channels[c.leader[i]])
		if c.leader[i] != i && !slices.Equal(times, same) {
			to.T = append([]float64(nil), lead.T[:len(to.V)]...) // the leader has grown already
			c.leader[i] = i
		}
		if c.leader[i] == i {
			to.T = append(c.grown(to.T, len(times), p.bytes), times...)
		}
		to.V = append(c.grown(to.V, len(from.V), p.bytes), from.V...)
	}
	l, q := c.log, p.log
	l.Notes = append(l.Notes, q.Notes...)
	l.Rows, l.Skipped, l.Torn = l.Rows+q.Rows, l.Skipped+q.Skipped, l.Torn+q.Torn
	c.failed += p.failed
	c.bad = append(c.bad, p.bad[:min(len(p.bad), badShown-len(c.bad))]...)
	return nil
}

// grown makes room in v for n values, and for those still to come if as many come with every byte.
func (c *collector) grown(v []float64, n, bytes int) []float64 {
	if len(v)+n <= cap(v) {
		return v
	}
	more := max(len(v), n)
	if c.left > 0 && bytes > 0 {
		more = n + int(1.02*float64(c.left)/float64(bytes)*float64(n)) + 100
	}
	return order.Grow(v, more)
}

// share gives the channels that follow another the times of that one.
func (c *collector) share() {
	for i, ch := range c.channels {
		ch.T = c.channels[c.leader[i]].T
	}
}
