package emulator

import (
	"fmt"
	"sort"
	"time"
)

// FaultKind is what goes wrong.
type FaultKind uint8

// The faults. Reset happens once, at the fault's beginning; the others last.
const (
	Unplugged FaultKind = iota // the line is gone
	Garbage                    // one byte in ten is wrong
	NoData                     // the car does not answer, as on a sleeping bus
	Slow                       // the control unit takes six times as long
	Reset                      // the adapter resets itself, as when the starter draws the battery down
	Unpowered                  // ignition off
	Mute                       // the adapter hangs
	WrongBaud                  // the adapter stands at another baud rate
)

var faultNames = []string{"unplug", "garbage", "nodata", "slow", "reset", "ignition", "mute", "baud"}

func (k FaultKind) String() string { return faultNames[k] }

// FaultByName returns the fault of that name.
func FaultByName(name string) (FaultKind, error) {
	for i, n := range faultNames {
		if n == name {
			return FaultKind(i), nil
		}
	}
	return 0, fmt.Errorf("there is no fault %q, the faults are %v", name, faultNames)
}

// Fault is something that goes wrong for a while.
type Fault struct {
	Kind     FaultKind
	From, To time.Duration // since the start
}

// Faults are the faults of a drive.
type Faults struct {
	list    []Fault // by From
	longest time.Duration
	resets  int // index of the first reset that has not happened yet
}

// NewFaults returns the faults in the order of time.
func NewFaults(list ...Fault) Faults {
	f := Faults{list: append([]Fault(nil), list...)}
	sort.SliceStable(f.list, func(i, j int) bool { return f.list[i].From < f.list[j].From })
	for _, x := range f.list {
		f.longest = max(f.longest, x.To-x.From)
	}
	return f
}

// active tells whether a fault of the kind lasts at a time.
func (f *Faults) active(k FaultKind, at time.Duration) bool {
	i := sort.Search(len(f.list), func(i int) bool { return f.list[i].From > at })
	for i--; i >= 0 && f.list[i].From >= at-f.longest; i-- {
		if f.list[i].Kind == k && at < f.list[i].To {
			return true
		}
	}
	return false
}

// pendingReset tells, once for each, that a reset has happened.
func (f *Faults) pendingReset(at time.Duration) bool {
	happened := false
	for f.resets < len(f.list) && f.list[f.resets].From <= at {
		happened = happened || f.list[f.resets].Kind == Reset
		f.resets++
	}
	return happened
}
