// Package order finds order statistics of long slices without sorting all of them.
package order

import (
	"math"
	"math/bits"
	"slices"
	"sync"

	"flywitness/internal/parts"
)

// selectKth rearranges v so that v[k] is what sorting would put there, nothing before it is greater and nothing behind it smaller (C. A. R. Hoare,
// Algorithm 65: Find, 1961, from memory). It takes time in proportion to the length.
func selectKth(v []float64, k int) {
	lo, hi := 0, len(v)-1
	for rounds := 4 * bits.Len(uint(len(v))); hi-lo > 64; rounds-- {
		p := pivot(v, lo, hi)
		if rounds == 0 || math.IsNaN(p) {
			break // an order that defeats it, or values without one
		}
		i, j := lo, hi
		for i <= j {
			for v[i] < p {
				i++
			}
			for p < v[j] {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return
		}
	}
	slices.Sort(v[lo : hi+1])
}

// pivot is the median of three medians of three.
func pivot(v []float64, lo, hi int) float64 {
	step := (hi - lo) / 8
	var m [3]float64
	for i := range m {
		at := lo + (3*i+1)*step
		m[i] = middle(v[at-step], v[at], v[at+step])
	}
	return middle(m[0], m[1], m[2])
}

func middle(a, b, c float64) float64 { return max(min(a, b), min(max(a, b), c)) }

// Kth returns what would stand at place k of v, from 0, were it sorted as slices.Sort does. It rearranges v.
func Kth(v []float64, k int) float64 {
	if HasNaN(v) {
		slices.Sort(v)
	} else {
		selectKth(v, k)
	}
	return v[k]
}

// Median returns the mean of the two middle values of v, 0 of none. It rearranges v.
func Median(v []float64) float64 {
	n := len(v)
	if n == 0 {
		return 0
	}
	if HasNaN(v) {
		slices.Sort(v)
		return (v[(n-1)/2] + v[n/2]) / 2
	}
	below, v := narrow(v)
	k := (n-1)/2 - below
	selectKth(v, k)
	low := v[k]
	if n%2 == 1 {
		return (low + low) / 2
	}
	return (low + slices.Min(v[k+1:])) / 2
}

const (
	manyValues = 1 << 16 // from which a sample of them is looked at first,
	sampled    = 1 << 12 // of so many,
	aside      = 128     // in which the middle of all lies within so many places of that of the sample: four standard deviations
)

// narrow returns values of v among which its two middle ones are, and how many of the others are smaller. Of many values a sample tells about
// where the middle lies, so that one look at each leaves few (R. W. Floyd and R. L. Rivest, Algorithm 489: Select, 1975, from memory).
func narrow(v []float64) (below int, near []float64) {
	n := len(v)
	if n < manyValues {
		return 0, v
	}
	sample := make([]float64, sampled)
	for i := range sample {
		sample[i] = v[i*(n/sampled)]
	}
	slices.Sort(sample)
	lo, hi := sample[sampled/2-aside], sample[sampled/2+aside]
	mid, half := lo+(hi-lo)/2, (hi-lo)/2
	near = make([]float64, 0, n/8)
	for _, x := range v {
		if math.Abs(x-mid) <= half { // one comparison that nearly always comes out alike
			near = append(near, x)
			continue
		}
		less := 0
		if x < mid {
			less = 1
		}
		below += less
	}
	if below > (n-1)/2 || below+len(near) <= n/2 { // an order that fools the sample
		return 0, v
	}
	return below, near
}

// Grow makes room in v for n more values. Unlike slices.Grow it leaves alone what it makes, which then costs no memory until it is used.
func Grow(v []float64, n int) []float64 {
	if len(v)+n <= cap(v) {
		return v
	}
	return append(make([]float64, 0, len(v)+n), v...)
}

// fewSteps is how many steps tell a median well enough.
const fewSteps = 4000

// MedianStep returns the median of the rising steps of t, of some thousand of them where there are many; NaN with none.
func MedianStep(t []float64) float64 {
	stride := 1 + len(t)/fewSteps
	var d []float64
	for i := stride; i < len(t); i += stride {
		for k := i; k < min(i+stride, len(t)); k++ { // where stamps repeat themselves, every third step may rise and no other
			if t[k] > t[k-1] {
				d = append(d, t[k]-t[k-1])
				break
			}
		}
	}
	if len(d) == 0 {
		return math.NaN()
	}
	return Median(d)
}

// HasNaN tells whether a value is no number.
func HasNaN(v []float64) bool {
	for _, x := range v { // a function to call for each of millions of values takes many times as long
		if x != x {
			return true
		}
	}
	return false
}

// Least returns the least value of v, +Inf of none; a NaN does not count.
func Least(v []float64) float64 {
	least := math.Inf(1)
	for _, x := range v {
		if x < least {
			least = x
		}
	}
	return least
}

// Bounds returns the least and the greatest value of v, +Inf and -Inf of none; a NaN does not count.
func Bounds(v []float64) (least, most float64) {
	least, most = math.Inf(1), math.Inf(-1)
	var all sync.Mutex
	parts.Each(len(v), parts.Long, func(lo, hi int) {
		from, to := boundsIn(v[lo:hi])
		all.Lock()
		defer all.Unlock()
		if from < least {
			least = from
		}
		if to > most {
			most = to
		}
	})
	return least, most
}

// boundsIn returns those of a part.
func boundsIn(v []float64) (least, most float64) {
	least, most = math.Inf(1), math.Inf(-1)
	for _, x := range v {
		if x < least {
			least = x
		}
		if x > most {
			most = x
		}
	}
	return least, most
}

// Sort sorts v, quickly where it is nearly in order.
func Sort(v []float64) {
	moves := 8 * len(v)
	for i := 1; i < len(v); i++ {
		x, j := v[i], i
		for ; j > 0 && x < v[j-1]; j-- {
			v[j] = v[j-1]
		}
		v[j] = x
		if moves -= i - j; moves < 0 {
			slices.Sort(v)
			return
		}
	}
}

// Distinct returns the different values of v in order; nil, false when there are more than a few ten thousand.
func Distinct(v []float64) ([]float64, bool) {
	if out, ok := quarters(v); ok {
		return out, true
	}
	var out []float64
	table, shift := newTable(leastBits)
	last := uint64(0) // no key
	for _, x := range v {
		key := math.Float64bits(x) ^ empty
		if key == last {
			continue // as most
		}
		last = key
		if table[hash(key)>>(shift&63)] == key {
			continue // as most others
		}
		at := place(table, shift, key)
		if table[at] == key {
			continue
		}
		if 2*len(out) >= len(table) {
			if len(table) >= 1<<mostBits {
				return nil, false
			}
			table, shift = newTable(64 - shift + 2)
			for _, x := range out {
				key := math.Float64bits(x) ^ empty
				table[place(table, shift, key)] = key
			}
			at = place(table, shift, key)
		}
		table[at] = key
		out = append(out, x)
	}
	slices.Sort(out)
	return out, true
}

// quarters returns the different values of v in order where all are whole numbers of quarters that are not too large, as engine speeds are and
// whatever has no decimals: each has its place.
func quarters(v []float64) (out []float64, ok bool) {
	const most = 1 << 16
	var seen [most]bool
	for _, x := range v {
		i := int(4 * x)
		if uint(i) >= most || math.Float64bits(float64(i)) != math.Float64bits(4*x) { // a zero may have a sign
			return nil, false
		}
		seen[i] = true
	}
	for i, is := range seen {
		if is {
			out = append(out, float64(i)/4)
		}
	}
	return out, true
}

const (
	leastBits, mostBits = 9, 17 // of the places of a table: most columns have few values, and what fits the cache of a core is looked up at once
	// empty is a pattern of bits that no measured value has: a NaN, so that zero marks a free place.
	empty = 0x7ff8dead_00000000
)

// newTable returns a table, and by how much a hash is shifted to be a place in it.
func newTable(bits int) (table []uint64, shift int) { return make([]uint64, 1<<bits), 64 - bits }

// hash spreads keys over all numbers (Fibonacci hashing).
func hash(key uint64) uint64 { return key * 0x9e3779b97f4a7c15 }

// place is where a key stands in a table, or would.
func place(table []uint64, shift int, key uint64) uint64 {
	at := hash(key) >> (shift & 63)
	for table[at] != 0 && table[at] != key {
		at = (at + 1) % uint64(len(table))
	}
	return at
}
