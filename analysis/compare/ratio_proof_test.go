//go:build proof

package compare

import (
	"fmt"
	"hash/fnv"
	"math"
	"os"
	"runtime"
	"runtime/debug"
	"strconv"
	"sync"
	"testing"

	"flywitness/analysis/inertia/testcar"
	"flywitness/analysis/stats"

	"gonum.org/v1/gonum/mat"
)

// replications is how often each row of a table is drawn: 500, or what FLYWITNESS_PROOF_N says.
func replications() int {
	if n, err := strconv.Atoi(os.Getenv("FLYWITNESS_PROOF_N")); err == nil && n > 0 {
		return n
	}
	return 500
}

var links = []struct {
	name string
	link testcar.Link
}{{"K-line 2.5 Hz", testcar.KLine}, {"CAN 8 Hz", testcar.CANOne}, {"CAN 20 Hz", testcar.CANMulti}}

// se is the standard error from the runs alone.
func (r *ratio) se() float64 { return math.Sqrt(r.variance) }

// tally collects errors of one row.
type tally struct {
	err, bound, half []float64 // of the logarithm
	covered, missing int
	used             float64
}

func (t *tally) row() (bias, sd, efficiency, coverage, half float64) {
	s := stats.Summarise(t.err)
	b := 0.0
	for _, v := range t.bound {
		b += v
	}
	n := float64(len(t.err))
	return s.Mean, s.SD, b / n / (s.SD * s.SD), float64(t.covered) / n, stats.Summarise(t.half).Mean
}

// add takes one answer in; it tells whether there was one.
func (t *tally) add(r *ratio, truth float64) bool {
	if r == nil {
		t.missing++
		return false
	}
	h := stats.TQuantile(0.975, r.df) * r.se()
	t.err, t.half = append(t.err, r.ln-truth), append(t.half, h)
	if math.Abs(r.ln-truth) <= h {
		t.covered++
	}
	return true
}

// parallel draws n replications on all cores; each is told its own number, from which it makes its chance.
func parallel(n int, draw func(rep uint64)) {
	defer debug.SetGCPercent(debug.SetGCPercent(400)) // drives are large and short-lived
	var wg sync.WaitGroup
	next := make(chan uint64)
	for range runtime.GOMAXPROCS(0) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for rep := range next {
				draw(rep)
			}
		}()
	}
	for i := range n {
		next <- uint64(i)
	}
	close(next)
	wg.Wait()
}

// cramerRao is the smallest variance that an unbiased ratio can have from the samples that were used: timing
// noise sigma and run-to-run spread tau known, shape of the fit's degree unknown.
func cramerRao(r *ratio, sigma, tau float64) float64 {
	sum := [2]float64{}
	for i, f := range r.shape.Runs {
		sum[side(r.after[i])] += 1 / (sigma*sigma/(f.SumSq*f.B*f.B) + tau*tau)
	}
	bound := 1/sum[0] + 1/sum[1]
	if r.shape.CovQ == nil {
		return bound
	}
	d := mat.NewVecDense(r.shape.CovQ.SymmetricDim(), nil)
	for i, f := range r.shape.Runs {
		k := side(r.after[i])
		w := 1 / (sigma*sigma/(f.SumSq*f.B*f.B) + tau*tau) / sum[k]
		if k == 1 {
			w = -w
		}
		for j, l := range f.L {
			d.SetVec(j, d.AtVec(j)+w*l)
		}
	}
	fitted := r.shape.Sigma[0]
	return bound + mat.Inner(d, r.shape.CovQ, d)*sigma*sigma/(fitted*fitted)
}

type ratioCase struct {
	name     string
	n        int
	tau      float64
	top      [2]float64
	change   func(before, after *testcar.Car, link *testcar.Link)
	gaussian bool // the bound holds
}

// number makes the chance of every row its own.
func (c ratioCase) number(link testcar.Link) uint64 {
	h := fnv.New64a()
	fmt.Fprint(h, c.name, c.n, c.tau, link.Rate)
	return h.Sum64()
}

func runRatio(c ratioCase, link testcar.Link, reps int) *tally {
	out := &tally{}
	var mu sync.Mutex
	parallel(reps, func(rep uint64) {
		rng := seeded(rep, c.number(link))
		before, after := stand(0.22), stand(0.17)
		l := link
		if c.change != nil {
			c.change(before, after, &l)
		}
		b := revs(before, c.n, c.top[0], c.tau, 1, l, rng)
		a := revs(after, c.n, c.top[1], c.tau, 1, l, rng)
		r := bestRatio(b.Inertia, a.Inertia)
		mu.Lock()
		defer mu.Unlock()
		if out.add(r, math.Log(0.22/0.17)) {
			out.bound = append(out.bound, cramerRao(r, l.Jitter, c.tau))
			out.used += float64(len(r.runs)) / float64(2*c.n)
		}
	})
	return out
}

func printRatio(t *testing.T, title string, cases []ratioCase) {
	fmt.Printf("\n### %s\n\n| case | link | n/side | bias %% | sd %% | efficiency | coverage | half width %% | runs "+
		"used | no answer |\n|---|---|---|---|---|---|---|---|---|---|\n", title)
	for _, c := range cases {
		for _, l := range links {
			o := runRatio(c, l.link, replications())
			bias, sd, eff, cover, half := o.row()
			fmt.Printf("| %s | %s | %d | %+.2f | %.2f | %.2f | %.3f | %.2f | %.2f | %d |\n", c.name, l.name, c.n, 100*bias,
				100*sd, eff, cover, 100*half, o.used/float64(len(o.err)), o.missing)
			if c.gaussian && math.Abs(bias) > sd/4+3*sd/math.Sqrt(float64(len(o.err))) {
				t.Errorf("%s, %s: bias %.2f %% is more than a quarter of the sd %.2f %%", c.name, l.name, 100*bias, 100*sd)
			}
			n := float64(len(o.err))
			if c.gaussian && eff < 0.9*(1-3*math.Sqrt(2/n)) {
				t.Errorf("%s, %s: efficiency %.2f, want 0.9", c.name, l.name, eff)
			}
			if chance := 3 * math.Sqrt(0.95*0.05/n); c.gaussian && (cover < 0.93-chance || cover > 0.97+chance) {
				t.Errorf("%s, %s: coverage %.3f, want 0.93 to 0.97", c.name, l.name, cover)
			}
		}
	}
}

func TestProofRatioTidy(t *testing.T) {
	printRatio(t, "Ratio from free revs, jitter of the time stamps only", []ratioCase{
		{name: "both from 5300 rpm", n: 5, tau: 0.015, top: [2]float64{5300, 5300}, gaussian: true},
		{name: "both from 5300 rpm", n: 8, tau: 0.015, top: [2]float64{5300, 5300}, gaussian: true},
		{name: "both from 5300 rpm, drag spread 0.5 %", n: 8, tau: 0.005, top: [2]float64{5300, 5300}, gaussian: true},
		{name: "both from 4000 rpm (soft limit)", n: 8, tau: 0.015, top: [2]float64{4000, 4000}, gaussian: true},
		{name: "before from 3800, after from 5800 rpm", n: 8, tau: 0.015, top: [2]float64{3800, 5800}, gaussian: true},
		{name: "6 % late stamps", n: 8, tau: 0.015, top: [2]float64{5300, 5300},
			change: func(_, _ *testcar.Car, l *testcar.Link) { l.Late = 0.06 }},
	})
}

func TestProofRatioDirty(t *testing.T) {
	both := [2]float64{5300, 5300}
	each := func(f func(*testcar.Car)) func(b, a *testcar.Car, l *testcar.Link) {
		return func(b, a *testcar.Car, _ *testcar.Link) { f(b); f(a) }
	}
	printRatio(t, "Ratio from dirty free revs, one fault at a time", []ratioCase{
		{name: "drag flat, then steep", n: 8, tau: 0.015, top: both,
			change: each(func(c *testcar.Car) { c.Drag = func(w float64) float64 { return 30 + 2.2e-7*w*w*w } })},
		{name: "drag highest when slow (pumping)", n: 8, tau: 0.015, top: both,
			change: each(func(c *testcar.Car) {
				c.Drag = func(w float64) float64 {
					return 18 + 14*math.Exp(-w/150) +
						0.03*w
				}
			})},
		{name: "pumping, before from 3800, after from 5800", n: 8, tau: 0.015, top: [2]float64{3800, 5800},
			change: each(func(c *testcar.Car) {
				c.Drag = func(w float64) float64 {
					return 18 + 14*math.Exp(-w/150) +
						0.03*w
				}
			})},
		{name: "torque leaves with 0.12 s", n: 8, tau: 0.015, top: both,
			change: each(func(c *testcar.Car) { c.Decay = 0.12 })},
		{name: "torque leaves with 0.2 s", n: 8, tau: 0.015, top: both,
			change: each(func(c *testcar.Car) { c.Decay = 0.2 })},
		{name: "filter of 0.1 s in the control unit", n: 8, tau: 0.015, top: both,
			change: func(_, _ *testcar.Car, l *testcar.Link) { l.Filter = 0.1 }},
		{name: "filter of 0.2 s in the control unit", n: 8, tau: 0.015, top: both,
			change: func(_, _ *testcar.Car, l *testcar.Link) { l.Filter = 0.2 }},
		{name: "fuel back at 1700 rpm", n: 8, tau: 0.015, top: both,
			change: each(func(c *testcar.Car) { c.Resume, c.ResumeNm = 1700*testcar.RPM, 12 })},
		{name: "rev hang 0.6 s, throttle not logged", n: 8, tau: 0.015, top: both,
			change: each(func(c *testcar.Car) { c.HangTime, c.HangOpen = 0.6, 0.06 })},
		{name: "steps of 25 rpm", n: 8, tau: 0.015, top: both,
			change: func(_, _ *testcar.Car, l *testcar.Link) { l.RPMStep = 25 }},
		{name: "held values, refreshed every 0.4 s", n: 8, tau: 0.015, top: both,
			change: func(_, _ *testcar.Car, l *testcar.Link) { l.Hold = 0.4 }},
	})
}
