// Package gearstate tells which gear is engaged and whether the clutch is locked, slipping or open, at every instant.
// One decoder serves live and offline use.
package gearstate

// Clutch is the state of the clutch at an instant.
type Clutch uint8

// The states. Unknown is used where the log cannot tell (standstill, gap, before the first sample).
const (
	Unknown Clutch = iota
	Open
	Locked
	Slipping
)

func (c Clutch) String() string { return [...]string{"unknown", "open", "locked", "slipping"}[c] }

// Segment is a stretch of equal gear and clutch state. Gear is 0 where none is engaged or none can be told.
type Segment struct {
	Start, End float64 // s
	Gear       int
	Clutch     Clutch
}
