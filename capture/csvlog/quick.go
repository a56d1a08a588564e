package csvlog

import (
	"bytes"
	"math"

	"flywitness/drive"
)

// The rows of a log are alike: a plain number in every cell that is asked for. quickRows reads them straight into the columns. Whatever is
// written otherwise is left to the careful way (part.row), so that both give the same values.

// sink is what is done with the cells of one column of the file.
type sink struct {
	to     []float64 // where the values go; nil: nobody asks for this column
	conv   conversion
	lo, hi float64 // values beyond are absurd and left to the careful way
	holes  *bool   // set where a cell is empty; nil: none may be
	clock  *clock  // of clock times, whose days go beside; nil for numbers
	days   []day
}

// quickSinks returns a sink for each heading, nil where the cells of the log are not for the quick way.
func (p *part) quickSinks(rows int) []sink {
	if p.d.delim == ' ' || len(p.plan.clocks) != 1 || p.plan.clocks[0].date >= 0 || p.plan.clocks[0].clock.epoch != 0 || p.plan.clocks[0].clock.count > 0 || p.plan.clocks[0].also != nil || p.cars.index >= 0 {
		return nil
	}
	sinks := make([]sink, len(p.d.headings))
	c := &p.plan.clocks[0]
	switch {
	case c.clock.rate > 0:
	case c.clock.unit == 0:
		sinks[c.index] = sink{to: p.stamps[0][:rows], clock: &c.clock, days: p.days[0][:rows]}
	default:
		sinks[c.index] = sink{to: p.stamps[0][:rows], conv: conversion{factor: c.clock.unit}, lo: math.Inf(-1), hi: math.Inf(1)}
	}
	for i := range p.plan.columns {
		c := &p.plan.columns[i]
		if sinks[c.index].to != nil {
			return nil // one column of the file for two channels
		}
		lo, hi := c.limits()
		sinks[c.index] = sink{to: p.values[i][:rows], conv: c.conv, lo: lo, hi: hi, holes: &p.holes[i]}
	}
	return sinks
}

// quickRows reads rows as long as they are plain.
func (p *part) quickRows(l *lines) {
	if p.sinks == nil || l.lost {
		return
	}
	mark := byte('.')
	if p.d.comma {
		mark = ','
	}
	i, n, last := 0, p.rows, 0
	for i < len(l.text) {
		rows, length := p.alike.rows(p.sinks, n, l.text[i:])
		if rows == 0 {
			next := quickRow(p.sinks, n, l.text, i, p.d.delim, l.eol, mark)
			if next < 0 {
				break
			}
			rows = 1
			if length = next - i; length == last { // the next one may be laid out as this one too
				p.alike.learn(p.sinks, l.text[i:next], p.d.delim, mark)
			}
		}
		i, n, last = i+rows*length, n+rows, length
	}
	l.text = l.text[i:]
	if rate := p.plan.clocks[0].clock.rate; rate > 0 {
		for k := p.rows; k < n; k++ {
			p.stamps[0] = append(p.stamps[0], float64(l.number+k-p.rows)/rate)
		}
	}
	l.number += n - p.rows
	for k := range p.stamps {
		p.stamps[k] = p.stamps[k][:n]
	}
	for k := range p.values {
		p.values[k] = p.values[k][:n]
	}
	if p.plan.clocks[0].clock.unit == 0 {
		p.days[0] = p.days[0][:n]
	}
	p.rows = n
}

// quickRow reads the line that begins at text[i] as row n and returns where the next one begins, -1 when the line is for the careful way.
func quickRow(sinks []sink, n int, text []byte, i int, delim, eol, mark byte) int {
	for k := range sinks {
		if k > 0 {
			if text[i] != delim {
				return -1
			}
			i++
		}
		if s := &sinks[k]; s.to == nil {
			i = passCell(text, i, delim, eol)
		} else if s.clock != nil {
			i = s.time(n, text, i, delim, eol)
		} else if v, end := drive.PlainNumber(text, i, mark); end >= 0 && end < len(text) && text[end] != ' ' && s.take(n, v) {
			i = end
		} else {
			i = s.cell(n, text, i, delim, mark)
		}
		if i < 0 || i >= len(text) {
			return -1
		}
	}
	if text[i] == '\r' && eol != '\r' && i+1 < len(text) {
		i++
	}
	if text[i] != eol {
		return -1
	}
	return i + 1
}

// take takes a number as the value of row n; false when it is for the careful way.
func (s *sink) take(n int, v float64) bool {
	v = s.conv.apply(v)
	s.to[n] = v
	return v >= s.lo && v <= s.hi
}

// cell reads the cell that begins at text[i] as that of row n and returns where it ends, -1 when it is for the careful way.
func (s *sink) cell(n int, text []byte, i int, delim, mark byte) int {
	for i < len(text) && text[i] == ' ' {
		i++
	}
	if i < len(text) && text[i] == delim && s.holes != nil {
		s.to[n], *s.holes = math.NaN(), true
		return i
	}
	v, i := drive.PlainNumber(text, i, mark)
	if i < 0 || !s.take(n, v) {
		return -1
	}
	for i < len(text) && text[i] == ' ' {
		i++
	}
	return i
}

// time reads the clock time that begins at text[i] as that of row n and returns where it ends, -1 when it is for the careful way.
func (s *sink) time(n int, text []byte, i int, delim, eol byte) int {
	end := passCell(text, i, delim, eol)
	if end < 0 {
		return -1
	}
	if !s.stamp(n, bytes.TrimSuffix(text[i:end], []byte{'\r'})) {
		return -1
	}
	return end
}

// stamp takes a cell as the clock time of row n; false when it is for the careful way.
func (s *sink) stamp(n int, cell []byte) (ok bool) {
	s.to[n], s.days[n], ok = s.clock.read(trim(cell), nil)
	return ok
}

// passCell returns where the cell that begins at text[i] ends, -1 when it may be quoted.
func passCell(text []byte, i int, delim, eol byte) int {
	for ; i < len(text) && text[i] != delim && text[i] != eol; i++ {
		if text[i] == '"' {
			return -1
		}
	}
	return i
}
