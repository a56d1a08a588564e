package sim

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"sort"

	"flywitness/drive"
)

// Without returns a log without the samples stamped within any of the spans (s): a recorder that paused, a link
// that broke.
func Without(l *drive.Log, spans [][2]float64) *drive.Log {
	return filterLog(l, 0, func(t float64) bool {
		for _, s := range spans {
			if t >= s[0] && t < s[1] {
				return false
			}
		}
		return true
	})
}

// Cut returns the piece of a log from one time to another (s), its clock begun anew.
func Cut(l *drive.Log, from, to float64) *drive.Log {
	return filterLog(l, from, func(t float64) bool { return t >= from && t < to })
}

func filterLog(l *drive.Log, zero float64, keep func(t float64) bool) *drive.Log {
	out := *l
	out.Channels = nil
	out.Rows = 0
	for _, c := range l.Channels {
		n := drive.Channel{Name: c.Name, Source: c.Source, Unit: c.Unit}
		for i, t := range c.T {
			if keep(t) {
				n.T = append(n.T, t-zero)
				n.V = append(n.V, c.V[i])
			}
		}
		if n.Len() > 0 {
			out.Channels = append(out.Channels, &n)
			out.Rows = max(out.Rows, n.Len())
		}
	}
	return &out
}

// Join says how a recorder makes values between those that it got.
type Join int

// The ways of making values in between.
const (
	Straight Join = iota // a line from value to value
	Spline               // a natural cubic spline through all values
	Fitted               // a parabola fitted to the seven nearest values
	Last                 // the last value again
)

// Resampled returns a log whose channels all stand on one clock of hz rows a second, with values that the recorder
// made up between those that it got.
func Resampled(l *drive.Log, hz float64, how Join) *drive.Log {
	out := *l
	out.Channels = nil
	first, last := l.Span()
	n := int((last - first) * hz)
	t := make([]float64, n)
	for i := range t {
		t[i] = first + float64(i)/hz
	}
	for _, c := range l.Channels {
		x, y := rising(c)
		if len(x) < 8 {
			continue
		}
		v := make([]float64, n)
		at := map[Join]func(x, y []float64) func(float64) float64{Straight: straight, Spline: spline, Fitted: fitted, Last: latest}[how](x, y)
		for i := range v {
			v[i] = max(0, at(max(x[0], min(x[len(x)-1], t[i]))))
		}
		out.Channels = append(out.Channels, &drive.Channel{Name: c.Name, Source: c.Source, T: t, V: v})
	}
	out.Rows = n
	return &out
}

// rising returns a channel in the order of its stamps, each once.
func rising(c *drive.Channel) (x, y []float64) {
	order := make([]int, c.Len())
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(c.T[a], c.T[b]) })
	for _, i := range order {
		if n := len(x); n == 0 || c.T[i] > x[n-1]+1e-6 {
			x, y = append(x, c.T[i]), append(y, c.V[i])
		}
	}
	return x, y
}

// interval returns the last knot at or before t, and not the last of all.
func interval(x []float64, t float64) int {
	return max(0, min(len(x)-2, sort.SearchFloat64s(x, t)-1))
}

func straight(x, y []float64) func(float64) float64 {
	return func(t float64) float64 {
		i := interval(x, t)
		return y[i] + (t-x[i])/(x[i+1]-x[i])*(y[i+1]-y[i])
	}
}

func latest(x, y []float64) func(float64) float64 {
	return func(t float64) float64 { return y[interval(x, t)] }
}

// Smoothed smooths values as they come: each moves a share of the way to the next.
func Smoothed(v []float64, share float64) []float64 {
	out := slices.Clone(v)
	for i := 1; i < len(out); i++ {
		out[i] = out[i-1] + share*(v[i]-out[i-1])
	}
	return out
}

// spline is the natural cubic spline: second derivatives from the tridiagonal system of any textbook.
func spline(x, y []float64) func(float64) float64 {
	n := len(x)
	m := make([]float64, n)
	c, d := make([]float64, n), make([]float64, n)
	for i := 1; i < n-1; i++ {
		h0, h1 := x[i]-x[i-1], x[i+1]-x[i]
		r := 6 * ((y[i+1]-y[i])/h1 - (y[i]-y[i-1])/h0)
		w := 2*(h0+h1) - h0*c[i-1]
		c[i] = h1 / w
		d[i] = (r - h0*d[i-1]) / w
	}
	for i := n - 2; i > 0; i-- {
		m[i] = d[i] - c[i]*m[i+1]
	}
	return func(t float64) float64 {
		i := interval(x, t)
		h := x[i+1] - x[i]
		a, b := (x[i+1]-t)/h, (t-x[i])/h
		return a*y[i] + b*y[i+1] + ((a*a*a-a)*m[i]+(b*b*b-b)*m[i+1])*h*h/6
	}
}

// fitted is a parabola by least squares through the seven nearest values.
func fitted(x, y []float64) func(float64) float64 {
	return func(t float64) float64 {
		i := max(0, min(len(x)-7, interval(x, t)-3))
		var s [5]float64
		var r [3]float64
		scale := max(1e-6, x[i+6]-x[i])
		for k := i; k < i+7; k++ {
			u, p := (x[k]-t)/scale, 1.0
			for j := range s {
				if j < 3 {
					r[j] += p * y[k]
				}
				s[j] += p
				p *= u
			}
		}
		det := func(a, b, c, d, e, f, g, h, i float64) float64 { return a*(e*i-f*h) - b*(d*i-f*g) + c*(d*h-e*g) }
		all := det(s[0], s[1], s[2], s[1], s[2], s[3], s[2], s[3], s[4])
		if math.Abs(all) < 1e-12 {
			return y[i+3]
		}
		return det(r[0], s[1], s[2], r[1], s[2], s[3], r[2], s[3], s[4]) / all // the value at t is the constant term
	}
}

// WriteRows writes a log of one clock as a table, time in seconds.
func WriteRows(w io.Writer, l *drive.Log) error {
	b := bufio.NewWriter(w)
	fmt.Fprint(b, "Time (s)")
	for _, c := range l.Channels {
		fmt.Fprintf(b, ",%s", heading(c.Name))
	}
	fmt.Fprintln(b)
	for i := range l.Rows {
		fmt.Fprintf(b, "%.3f", l.Channels[0].T[i])
		for _, c := range l.Channels {
			fmt.Fprintf(b, ",%g", hundredth(c.V[i]))
		}
		fmt.Fprintln(b)
	}
	return b.Flush()
}
