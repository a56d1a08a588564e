package chart

import (
	"math"
	"strconv"
	"strings"
)

// compact rewrites the data of a path of straight lines in steps of a tenth of a point relative to the point before, which
// takes less than half the characters and looks the same. Rounding does not add up: each point is rounded where it stands.
func compact(d string) string {
	if strings.ContainsAny(d, "ACQ") { // curves stay as they are
		return d
	}
	d = strings.TrimSuffix(strings.TrimPrefix(d, ` d="`), `"`)
	var b strings.Builder
	b.WriteString(` d="`)
	x0, y0, last := 0, 0, byte(0)
	for len(d) > 0 {
		op := d[0]
		end := strings.IndexAny(d[1:], "MLZ") + 1
		if end == 0 {
			end = len(d)
		}
		xs, ys, ok := strings.Cut(d[1:end], ",")
		d = d[end:]
		if !ok {
			b.WriteByte('z')
			last = 0
			continue
		}
		x, y := tenths(xs), tenths(ys)
		dx, dy := x-x0, y-y0
		if op == 'M' {
			dx, dy = x, y
		} else if dx == 0 && dy == 0 {
			if last == 'M' { // a dot
				b.WriteString("h0")
				last = 0
			}
			continue
		}
		name := op
		if op == 'L' {
			name = 'l'
		}
		sx, sy := tenth(dx), tenth(dy)
		switch {
		case name != last:
			b.WriteByte(name)
		case sx[0] != '-':
			b.WriteByte(' ')
		}
		b.WriteString(sx)
		if sy[0] != '-' {
			b.WriteByte(' ')
		}
		b.WriteString(sy)
		x0, y0, last = x, y, name
	}
	b.WriteByte('"')
	return b.String()
}

func tenths(s string) int {
	v, _ := strconv.ParseFloat(s, 64)
	return int(math.Round(v * 10))
}

// tenth writes a number of tenths: 25 is 2.5, 3 is .3.
func tenth(n int) string {
	b := make([]byte, 0, 8)
	if n < 0 {
		b, n = append(b, '-'), -n
	}
	if n >= 10 || n == 0 {
		b = strconv.AppendInt(b, int64(n/10), 10)
	}
	if n%10 > 0 {
		b = append(b, '.', '0'+byte(n%10))
	}
	return string(b)
}
