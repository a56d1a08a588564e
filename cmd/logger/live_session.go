package main

import (
	"bufio"
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"sync"
	"time"

	"flywitness/analysis/plan"
	"flywitness/capture"
	"flywitness/cmd/logger/guide"
	"flywitness/cmd/logger/live"
	"flywitness/figure"
	"flywitness/vehicle"
)

// liveSession is all that judges a recording while it runs. Its work is done in a goroutine of its own, so that no request to the
// car ever waits for it.
type liveSession struct {
	book  *live.SampleBuffer
	judge *live.Judge
	watch *live.Watcher
	guide *guide.Guide // nil without --guide

	ticks chan time.Duration
	mu    sync.Mutex
	runs  []live.Run // all runs so far as they were judged last, in the order of driving
}

// newLiveSession judges for a car. alarm is told of slip under load; nil for no alarm.
func newLiveSession(v *vehicle.Vehicle, answers guide.Answers, alarm func(live.State)) *liveSession {
	b := &liveSession{book: live.NewSampleBuffer(), judge: &live.Judge{Vehicle: v}, ticks: make(chan time.Duration, 1)}
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
func (b *liveSession) sample(s capture.Sample) {
	b.book.Add(s)
	b.watch.Push(s)
}

// tick wakes the work when it is not busy.
func (b *liveSession) tick(s capture.Status) {
	select {
	case b.ticks <- s.Elapsed:
	default:
	}
}

// How often gearing is learnt until it is known and afterwards, and how often runs are judged. Judging takes longer with every hour: it
// is given a tenth of the time at most.
const (
	learnEvery   = 15 * time.Second
	relearnEvery = 5 * time.Minute
	judgeEvery   = 5 * time.Second
	judgeShare   = 10
)

// work runs until ctx ends; done is called when the guide has asked for everything.
func (b *liveSession) work(ctx context.Context, done func()) {
	var learn, judge time.Duration
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
		if b.guide != nil {
			b.guide.Tick(now.Seconds())
		}
		if now >= judge {
			began := time.Now()
			b.judgeRuns(now)
			judge = now + max(judgeEvery, judgeShare*time.Since(began))
		}
		if b.guide != nil && b.guide.Done() {
			done()
		}
	}
}

// judgeRuns judges the whole recording so far. Status line, page and guide all go by this one judgement, so that they cannot disagree.
func (b *liveSession) judgeRuns(now time.Duration) {
	runs := b.judge.Runs(b.book.Log(0))
	slices.SortStableFunc(runs, func(a, b live.Run) int { return cmp.Compare(a.Start, b.Start) })
	b.mu.Lock()
	b.runs = runs
	b.mu.Unlock()
	if b.guide != nil {
		b.guide.Judged(now.Seconds(), runs)
	}
}

// judged returns all runs as they were judged last, in the order of driving.
func (b *liveSession) judged() []live.Run {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.runs
}

// usable names the runs that can be used so far.
func (b *liveSession) usable() string {
	n := map[live.Kind]int{}
	for _, r := range b.judged() {
		if r.Used {
			n[r.Kind]++
		}
	}
	var parts []string
	for _, k := range []live.Kind{live.FreeRev, live.Pull, live.InGear, live.Coast} {
		if n[k] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n[k], k))
		}
	}
	return strings.Join(parts, ", ")
}

// line is what the status line adds.
func (b *liveSession) line() string {
	text := b.watch.State().String()
	if usable := b.usable(); usable != "" {
		text += "; usable so far: " + usable
	}
	return text
}

// startGuide puts a guide over the recording. in is where the passenger types "s" to pass over a step.
func (b *liveSession) startGuide(answers guide.Answers, road plan.Road, u figure.Units, in io.Reader,
	say func(guide.Message)) {
	b.guide = guide.New(b.book, plan.Usual(), answers, plan.On(b.judge.Vehicle, road), say)
	b.guide.Units = u
	go func() { // ends with the standard input, or with the program
		lines := bufio.NewScanner(in)
		for lines.Scan() {
			if strings.TrimSpace(strings.ToLower(lines.Text())) == "s" {
				b.guide.Skip()
			}
		}
	}()
}
