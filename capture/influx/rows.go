package influx

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"flywitness/drive"
)

// driveRows is a drive as it came from the database: points in the order of time.
type driveRows struct {
	fields map[string]*samples
	orders map[int64]order
	values int
}

// samples are the values of one field; nano is since the session's start.
type samples struct {
	nano []int64
	v    []float64
}

// order is what the order field of a row says: its time_s, and of each of its values the place in its channel.
type order struct {
	t      float64
	places []int
}

func (r *driveRows) add(field string, nano int64, v float64) {
	f := r.fields[field]
	if f == nil {
		f = &samples{}
		r.fields[field] = f
	}
	f.nano, f.v = append(f.nano, nano), append(f.v, v)
	r.values++
}

func (r *driveRows) order(nano int64, text string) error {
	parts := strings.Fields(text)
	if len(parts) < 2 {
		return badOrder(text)
	}
	var o order
	var err error
	if o.t, err = strconv.ParseFloat(parts[0], 64); err != nil {
		return badOrder(text)
	}
	for _, p := range parts[1:] {
		n, err := strconv.Atoi(p)
		if err != nil {
			n = -1
		}
		o.places = append(o.places, n)
	}
	r.orders[nano] = o
	return nil
}

func badOrder(text string) error {
	return fmt.Errorf("the field %s of a row reads %.40q: another program has changed it; push the session file again",
		orderField, text)
}

// channels returns the channels in the order of the file's columns; what other programs added follows by name. A
// channel without a value is left out.
func (r *driveRows) channels(columns []string) []*drive.Channel {
	names := slices.Clone(columns)
	for _, name := range slices.Sorted(maps.Keys(r.fields)) {
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	var out []*drive.Channel
	cell := map[int64]int{} // cells of a row with an order, in the channels before
	for _, name := range names {
		if f := r.fields[name]; f != nil {
			out = append(out, r.channel(name, f, cell))
		}
	}
	return out
}

// channel puts the values of a channel in the order of the file: a row without an order field stands where its time
// says, among the others like it.
func (r *driveRows) channel(name string, f *samples, cell map[int64]int) *drive.Channel {
	if !slices.IsSorted(f.nano) {
		f.sort()
	}
	n := len(f.nano)
	c := &drive.Channel{Name: name, Source: name, T: make([]float64, n), V: make([]float64, n)}
	placed := make([]bool, n)
	var loose []int
	for i, nano := range f.nano {
		o, ok := r.orders[nano]
		if !ok {
			loose = append(loose, i)
			continue
		}
		k := cell[nano]
		cell[nano]++
		if k >= len(o.places) || o.places[k] < 0 || o.places[k] >= n || placed[o.places[k]] {
			loose = append(loose, i)
			continue
		}
		at := o.places[k]
		placed[at], c.T[at], c.V[at] = true, o.t, f.v[i]
	}
	next := 0
	for _, i := range loose {
		for placed[next] {
			next++
		}
		placed[next], c.T[next], c.V[next] = true, r.seconds(f.nano[i]), f.v[i]
	}
	return c
}

// seconds returns time_s as the file has it. A number of at most 15 digits divided by a power of ten is rounded once,
// as reading its decimals is.
func (r *driveRows) seconds(nano int64) float64 {
	if o, ok := r.orders[nano]; ok {
		return o.t
	}
	if nano%1000 == 0 {
		return float64(nano/1000) / 1e6
	}
	return float64(nano) / 1e9
}

func (f *samples) sort() {
	index := make([]int, len(f.nano))
	for i := range index {
		index[i] = i
	}
	slices.SortStableFunc(index, func(a, b int) int { return cmp.Compare(f.nano[a], f.nano[b]) })
	nano, v := make([]int64, len(index)), make([]float64, len(index))
	for k, i := range index {
		nano[k], v[k] = f.nano[i], f.v[i]
	}
	f.nano, f.v = nano, v
}

func sortedKeys[V any](m map[int64]V) []int64 { return slices.Sorted(maps.Keys(m)) }
