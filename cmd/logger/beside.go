package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"strings"
	"sync"
	"time"

	"flywitness/capture"
	"flywitness/cmd/logger/guide"
	"flywitness/cmd/logger/live"
	"flywitness/vehicle"
)

// beside is all that judges a recording while it runs. Its work is done in a goroutine of its own, so that no request to the
// car ever waits for it.
type beside struct {
	book  *live.Book
	judge *live.Judge
	watch *live.Watcher
	guide *guide.Guide // nil without --guide

	ticks chan time.Duration
	mu    sync.Mutex
	runs  string // usable runs so far, for the status line
}

// newBeside judges for a car. alarm is told of slip under load; nil for no alarm.
func newBeside(v *vehicle.Vehicle, answers guide.Answers, alarm func(live.State)) *beside {
	b := &beside{book: live.NewBook(), judge: &live.Judge{Vehicle: v}, ticks: make(chan time.Duration, 1)}
	b.judge.Inertia.FootOnClutch = answers.FootOnClutch()
	b.judge.Slip.KmSinceFitted, b.judge.Slip.BedInKm = answers.Number("km_since_fitted"), answers.Number("bed_in_km")
	b.watch = live.NewWatcher(b.judge, b.book)
	b.watch.Alarm = func(t float64, s live.State) {
		if b.guide != nil {
			b.guide.Slipped(t)
		}
		if alarm != nil {
			alarm(s)
		}
	}
	return b
}

// sample takes a recorded value.
func (b *beside) sample(s capture.Sample) {
	b.book.Add(s)
	b.watch.Push(s)
}

// tick wakes the work when it is not busy.
func (b *beside) tick(s capture.Status) {
	select {
	case b.ticks <- s.Elapsed:
	default:
	}
}

// How often gearing is learnt until it is known and afterwards, and how often runs are counted. Counting takes longer with every hour: it
// is given a tenth of the time at most.
const (
	learnEvery   = 15 * time.Second
	relearnEvery = 5 * time.Minute
	countEvery   = 30 * time.Second
	countShare   = 10
)

// work runs until ctx ends; done is called when the guide has asked for everything.
func (b *beside) work(ctx context.Context, done func()) {
	var learn, count time.Duration
	for {
		var now time.Duration
		select {
		case <-ctx.Done():
			return
		case now = <-b.ticks:
		}
		if now >= learn {
			b.watch.Relearn()
			learn = now + learnEvery
			if b.watch.Learnt() {
				learn = now + relearnEvery
			}
		}
		if now >= count {
			began := time.Now()
			b.count()
			count = now + max(countEvery, countShare*time.Since(began))
		}
		if b.guide != nil {
			b.guide.Tick(now.Seconds())
			if b.guide.Done() {
				done()
			}
		}
	}
}

// count counts the usable runs so far.
func (b *beside) count() {
	kinds := []live.Kind{live.FreeRev, live.Pull, live.InGear, live.Coast}
	n := map[live.Kind]int{}
	for _, r := range b.judge.Runs(b.book.Log(0)) {
		if r.Used {
			n[r.Kind]++
		}
	}
	var parts []string
	for _, k := range kinds {
		if n[k] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n[k], k))
		}
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.runs = strings.Join(parts, ", ")
}

// usable names the runs that can be used so far.
func (b *beside) usable() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.runs
}

// line is what the status line adds.
func (b *beside) line() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	text := b.watch.State().String()
	if b.runs != "" {
		text += "; usable so far: " + b.runs
	}
	return text
}

// startGuide puts a guide over the recording. in is where the passenger types "s" to pass over a step.
func (b *beside) startGuide(answers guide.Answers, limitKmh float64, in io.Reader, say func(string)) {
	offers, why := guide.Offers(b.judge.Vehicle, limitKmh)
	if b.judge.Vehicle == nil {
		why = "" // pulls are then asked for without gear and road
	}
	b.guide = guide.New(b.judge, b.book, guide.Usual(), answers, offers, why, say)
	go func() { // ends with the standard input, or with the program
		lines := bufio.NewScanner(in)
		for lines.Scan() {
			if strings.TrimSpace(strings.ToLower(lines.Text())) == "s" {
				b.guide.Skip()
			}
		}
	}()
}
