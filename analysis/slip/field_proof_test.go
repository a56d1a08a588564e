//go:build proof

package slip_test

import (
	"fmt"
	"math"
	"os"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"flywitness/analysis"
	"flywitness/analysis/detect"
	"flywitness/analysis/slip"
	"flywitness/capture/csvlog"
	"flywitness/capture/source"
	"flywitness/sim"
	"flywitness/sim/field"
	"flywitness/vehicle"

	"gonum.org/v1/gonum/stat/distuv"
)

// The limits of the field proof, as shares of the logs of a class.
const (
	falseSlips  = 0.01 // sound logs called slips
	falseHolds  = 0.01 // slipping logs called holds
	per100Hours = 1.0  // sound logs called slips in 100 h of ordinary driving
)

// fieldTally counts verdicts of one class and side.
type fieldTally struct {
	verdicts map[slip.Verdict]int
	n        int
	hours    float64
}

func (t *fieldTally) add(v slip.Verdict, hours float64) {
	if t.verdicts == nil {
		t.verdicts = map[slip.Verdict]int{}
	}
	t.verdicts[v]++
	t.n++
	t.hours += hours
}

func (t *fieldTally) join(o *fieldTally) {
	for v, n := range o.verdicts {
		if t.verdicts == nil {
			t.verdicts = map[slip.Verdict]int{}
		}
		t.verdicts[v] += n
	}
	t.n += o.n
	t.hours += o.hours
}

// exact is the Clopper-Pearson interval of 95 % of k out of n.
func exact(k, n int) (lo, hi float64) {
	hi = 1
	if n == 0 {
		return 0, 1
	}
	if k > 0 {
		lo = distuv.Beta{Alpha: float64(k), Beta: float64(n - k + 1)}.Quantile(0.025)
	}
	if k < n {
		hi = distuv.Beta{Alpha: float64(k + 1), Beta: float64(n - k)}.Quantile(0.975)
	}
	return lo, hi
}

func (t *fieldTally) share(v slip.Verdict) string {
	k := t.verdicts[v]
	lo, hi := exact(k, t.n)
	return fmt.Sprintf("%d (%.0f-%.0f)", k, 100*lo, 100*hi)
}

func (t *fieldTally) cells() string {
	if t.n == 0 {
		return "0 | - | - | -"
	}
	return fmt.Sprintf("%d | %s | %s | %s", t.n, t.share(slip.Slips), t.share(slip.Holds), t.share(slip.Inconclusive))
}

// fieldResult is one class after its cases.
type fieldResult struct {
	class       field.Class
	sound, weak fieldTally
	wrong       []string
	spent       time.Duration // of the judgement
}

// fieldVerdict is one case after the judgement, without its drive.
type fieldVerdict struct {
	seed    uint64
	sound   bool
	verdict slip.Verdict
	hours   float64
	wrong   string
	spent   time.Duration
}

func fieldNumber(name string, usual int) int {
	if n, err := strconv.Atoi(os.Getenv(name)); err == nil {
		return n
	}
	return usual
}

// TestProofField judges drives that were thought up without the analysis in mind: FLYWITNESS_FIELD selects classes
// by a regular expression, FLYWITNESS_FIELD_N says how many a side (60), FLYWITNESS_FIELD_SEED0 where seeds begin,
// FLYWITNESS_FIELD_LIST=1 names each wrong log, FLYWITNESS_FIELD_DRY=1 tells the program of dry roads.
func TestProofField(t *testing.T) {
	want, err := regexp.Compile(os.Getenv("FLYWITNESS_FIELD"))
	if err != nil {
		t.Fatal(err)
	}
	n, seed0 := fieldNumber("FLYWITNESS_FIELD_N", 60), uint64(fieldNumber("FLYWITNESS_FIELD_SEED0", 1))
	groups := map[string][]*fieldResult{}
	var order []string
	var all []*fieldResult
	for _, c := range field.Classes() {
		if !want.MatchString(c.Name) {
			continue
		}
		r := &fieldResult{class: c}
		all = append(all, r)
		if groups[c.Group()] == nil {
			order = append(order, c.Group())
		}
		groups[c.Group()] = append(groups[c.Group()], r)
	}
	began := time.Now()
	fmt.Println("| class | sound n | slips | holds | inconclusive | slipping n | slips | holds | inconclusive | s a " +
		"log |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|---|")
	for _, g := range order {
		judgeGroup(t, groups[g], n, seed0)
		for _, r := range groups[g] {
			fmt.Printf("| %s | %s | %s | %.3f |\n", r.class.Name, r.sound.cells(), r.weak.cells(),
				r.spent.Seconds()/math.Max(1, float64(r.sound.n+r.weak.n)))
		}
	}
	fieldTotals(t, all)
	fmt.Printf("\n%d classes, %.0f s on %d cores\n", len(all), time.Since(began).Seconds(), runtime.GOMAXPROCS(0))
	for _, r := range all {
		r.assert(t)
		if os.Getenv("FLYWITNESS_FIELD_LIST") == "1" {
			for _, w := range r.wrong {
				fmt.Println(w)
			}
		}
	}
}

// assert fails when a limit lies below what chance explains.
func (r *fieldResult) assert(t *testing.T) {
	if lo, _ := exact(r.sound.verdicts[slip.Slips], r.sound.n); lo > falseSlips {
		t.Errorf("%s: %d of %d sound logs called slips", r.class.Name, r.sound.verdicts[slip.Slips], r.sound.n)
	}
	if lo, _ := exact(r.weak.verdicts[slip.Holds], r.weak.n); lo > falseHolds && !r.class.Share && !r.class.Small {
		t.Errorf("%s: %d of %d slipping logs called holds", r.class.Name, r.weak.verdicts[slip.Holds], r.weak.n)
	}
}

// judgeGroup judges classes that share their drives: seeds in parallel, and slipping seeds on, up to three times as
// many, until enough have slipped as asked.
func judgeGroup(t *testing.T, rs []*fieldResult, n int, seed0 uint64) {
	if slices.ContainsFunc(rs, func(r *fieldResult) bool { return !r.class.WeakOnly }) {
		judgeSeeds(t, rs, seed0, n, true)
	}
	wanting := func(r *fieldResult) bool { return !r.class.SoundOnly && r.weak.n < n }
	for more := 0; more < 3 && slices.ContainsFunc(rs, wanting); more++ {
		judgeSeeds(t, rs, seed0+uint64(more*n), n, false)
	}
}

// judgeSeeds judges n seeds in parallel and counts them in their order, up to n a class and side.
func judgeSeeds(t *testing.T, rs []*fieldResult, seed0 uint64, n int, sound bool) {
	done := make([][]*fieldVerdict, n)
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	var wg sync.WaitGroup
	for i := range n {
		slots <- struct{}{}
		wg.Go(func() {
			defer func() { <-slots }()
			done[i] = judgeSeed(t, rs, seed0+uint64(i), sound, n)
		})
	}
	wg.Wait()
	for _, cases := range done {
		for k, c := range cases {
			if c != nil {
				rs[k].count(c, n)
			}
		}
	}
}

// judgeSeed judges one seed of each class; nil where there is nothing to judge.
func judgeSeed(t *testing.T, rs []*fieldResult, seed uint64, sound bool, n int) []*fieldVerdict {
	d := rs[0].class.Drive(seed, sound)
	out := make([]*fieldVerdict, len(rs))
	for k, r := range rs {
		if sound && r.class.WeakOnly || !sound && (r.class.SoundOnly || r.weak.n >= n) {
			continue
		}
		c := r.class.From(d)
		if !sound && !c.Qualified {
			continue
		}
		f, spent, err := judgeCase(c)
		if err != nil && r.class.Refusable {
			f, err = &slip.Finding{Verdict: slip.Inconclusive}, nil
		}
		if err != nil {
			t.Errorf("%s seed %d: %v", c.Class, seed, err)
			continue
		}
		out[k] = &fieldVerdict{seed: seed, sound: sound, verdict: f.Verdict, spent: spent, wrong: wrongLog(c, f)}
		for _, tr := range c.Truths {
			out[k].hours += tr.Duration() / 3600
		}
	}
	return out
}

// judgeCase asks the program as somebody who brings the logs does.
func judgeCase(c field.Case) (*slip.Finding, time.Duration, error) {
	logs := slices.Clone(c.Logs)
	for i, text := range c.Texts {
		l, err := source.Read(strings.NewReader(text), fmt.Sprintf("log%d.csv", i), csvlog.Options{})
		if err != nil {
			return nil, 0, err
		}
		logs = append(logs, l)
	}
	began := time.Now()
	dry := c.Dry && os.Getenv("FLYWITNESS_FIELD_DRY") == "1"
	r := analysis.Slip(analysis.Set{Logs: logs, Vehicle: toldVehicle(c)}, slip.Options{DryRoad: dry})
	return r.Slip, time.Since(began), nil
}

// toldVehicle is what the program gets: the file, or one that holds nothing but the kind of gearbox.
func toldVehicle(c field.Case) *vehicle.Vehicle {
	if c.Vehicle == nil && c.Gearbox != "" {
		return &vehicle.Vehicle{MassSD: 0, DrivenWheels: 2, SpeedSource: vehicle.SourceUnknown,
			Gearbox: vehicle.Gearbox{Type: vehicle.GearboxType(c.Gearbox), Efficiency: 0.95}}
	}
	return c.Vehicle
}

func (r *fieldResult) count(c *fieldVerdict, n int) {
	side := &r.weak
	if c.sound {
		side = &r.sound
	}
	if side.n >= n {
		return
	}
	side.add(c.verdict, c.hours)
	r.spent += c.spent
	if c.wrong != "" {
		r.wrong = append(r.wrong, c.wrong)
	}
}

// wrongLog tells of a wrong answer what was said and what was true; "" of a right one. FLYWITNESS_FIELD_OPEN=1
// tells of open answers too.
func wrongLog(c field.Case, f *slip.Finding) string {
	weak := !c.Sound
	open := f.Verdict == slip.Inconclusive && os.Getenv("FLYWITNESS_FIELD_OPEN") == "1"
	if !open && (weak && f.Verdict != slip.Holds || !weak && f.Verdict != slip.Slips) {
		return ""
	}
	var b strings.Builder
	car := c.Truths[0].Car()
	fmt.Fprintf(&b, "%s seed %d sound %v: %s: %s (source %s) %s\n", c.Class, c.Seed, c.Sound, f.Verdict, f.Reason,
		car.Vehicle.SpeedSource, c.Note)
	if weak {
		for i, tr := range c.Truths {
			for n, e := range tr.Events {
				if e.EndS-e.StartS > 1 && n < 12 {
					fmt.Fprintf(&b, "    true slip, log %d, %.1f-%.1f s: gear %d, %.1f %%, unlocked %v\n", i, e.StartS-c.Zero[i],
						e.EndS-c.Zero[i], e.Gear, e.PeakPct, e.FromEngagement)
				}
			}
		}
	}
	shown := 0
	for _, e := range f.Events {
		if (e.Kind == "slip" || weak && e.End-e.Start > 0.8) && shown < 12 {
			shown++
			fmt.Fprintf(&b, "    told %s%s, log %d, %.1f-%.1f s gear %d %.1f %%; %s\n", e.Kind, unbeaten(e), e.Input, e.Start, e.End,
				e.Gear, e.PeakSlip,
				happened(c.Truths[e.Input], e.Start+c.Zero[e.Input], e.End+c.Zero[e.Input]))
		}
	}
	return b.String()
}

// unbeaten names the rivals that slip does not beat, with the nats by which it leads them.
func unbeaten(e slip.Event) (s string) {
	for _, v := range e.Rivals {
		if v.Nats < detect.Proven {
			s += fmt.Sprintf(" %s:%.1f", v.Kind, v.Nats)
		}
	}
	return s
}

// happened is the truth of a stretch of a drive.
func happened(tr *sim.Truth, from, to float64) string {
	gears, last := "", int8(-1)
	foot, most, pedal, pedalMost, spin := 1.0, 0.0, 100.0, 0.0, 0.0
	for i := tr.At(from - 0.5); i <= tr.At(to+0.5); i++ {
		if g := tr.Gear[i]; g != last {
			gears += fmt.Sprintf(" %d@%.1f", g, tr.T[i])
			last = g
		}
		foot, most = math.Min(foot, tr.Engagement[i]), math.Max(most, math.Abs(tr.SlipPct[i]))
		pedal, pedalMost = math.Min(pedal, tr.Pedal[i]), math.Max(pedalMost, tr.Pedal[i])
		if tr.GroundKmh[i] > 3 {
			spin = math.Max(spin, 100*(tr.WheelKmh[i]/tr.GroundKmh[i]-1))
		}
	}
	return fmt.Sprintf("truth at %.1f s: %.0f km/h, gears%s, clutch pedal up %.2f, clutch slip %.1f %%, accelerator "+
		"%.0f-%.0f %%, wheels over ground %.1f %%",
		from, tr.GroundKmh[tr.At(from)], gears, foot, most, pedal, pedalMost, spin)
}

// fieldTotals prints the families, and false alarms by the hour of ordinary driving.
func fieldTotals(t *testing.T, all []*fieldResult) {
	families := map[string]*fieldResult{}
	var names []string
	var ordinary fieldTally
	for _, r := range all {
		f := families[r.class.Family]
		if f == nil {
			f = &fieldResult{}
			families[r.class.Family] = f
			names = append(names, r.class.Family)
		}
		f.sound.join(&r.sound)
		f.weak.join(&r.weak)
		if r.class.Ordinary {
			ordinary.join(&r.sound)
		}
	}
	fmt.Println("\n| family | sound n | slips | holds | inconclusive | slipping n | slips | holds | inconclusive |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|")
	for _, name := range names {
		fmt.Printf("| %s | %s | %s |\n", name, families[name].sound.cells(), families[name].weak.cells())
	}
	if ordinary.hours > 0 {
		k := ordinary.verdicts[slip.Slips]
		// Exact Poisson limits by way of the chi-square distribution (Garwood).
		lo := 0.0
		if k > 0 {
			lo = distuv.ChiSquared{K: float64(2 * k)}.Quantile(0.025) / 2
		}
		hi := distuv.ChiSquared{K: float64(2*k + 2)}.Quantile(0.975) / 2
		fmt.Printf("\nordinary driving: %d sound logs called slips in %.0f h of logs: %.2f (%.2f-%.2f) per 100 h\n", k,
			ordinary.hours,
			100*float64(k)/ordinary.hours, 100*lo/ordinary.hours, 100*hi/ordinary.hours)
		if 100*lo/ordinary.hours > per100Hours {
			t.Errorf("%d sound ordinary logs called slips in %.0f h", k, ordinary.hours)
		}
	}
}
