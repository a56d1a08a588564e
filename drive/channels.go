package drive

import (
	"math"
	"slices"
)

// Definition describes one kind of channel. Recorder, poll plans, readers, emulator, pages and docs/channels.md all
// take what they need from it, so a new channel is one entry in channel_list.go.
type Definition struct {
	Name  string // canonical, with the unit in it
	Label string // what people call it
	Unit  string // as package vehicle spells it; "" for a plain number or a switch
	// Low and High are the limits of what a car's control unit shows. What lies outside is damage, or stands for "not
	// available".
	Low, High float64
	Decimals  int // digits after the point that are kept in a recording: no step of the car's own is lost
	Use       string

	Pace     Pace    // of an ordinary recording
	Request  Request // how the car is asked for it
	Receiver bool    // it comes from a satellite receiver
	Heading  Heading // how loggers head its column
}

// Pace is how often an ordinary recording asks the car for a channel.
type Pace int

// The paces. Engine speed and road speed come first: each further channel takes time from them on a slow link.
const (
	OnDemand   Pace = iota // only while a plan names it
	EveryCycle             // in every cycle
	Often                  // in turn, after a few cycles
	Seldom                 // in turn, after many
)

// Request is a parameter of the diagnostic standard's service 01 (SAE J1979 / ISO 15031-5): Size bytes, highest
// first, that become a value by raw x Scale + Offset. The zero Request is that of a channel that the car is not asked
// for.
type Request struct {
	PID           byte
	Size          int
	Scale, Offset float64
	FirstByteOnly bool // the second byte belongs to a second system
}

// Heading says how the column of a channel is headed. A heading is cut into words; it names the channel when all
// words of one of the phrases are in it and beside them no word of Not.
type Heading struct {
	Strong, Weak []string // phrases; strong ones can mean nothing else, weak ones give way to strong ones
	Also         string   // words that may stand beside a phrase and say nothing new
	Not          string   // words that make it something else
	Second       string   // words of a second-best copy (a redundant sensor)
	Own          string   // words that would make any other heading something else, and belong to this one
}

// Asked tells whether the car can be asked for the channel.
func (d Definition) Asked() bool { return d.Request.Size > 0 }

// Plausible tells whether v lies within the limits.
func (d Definition) Plausible(v float64) bool { return v >= d.Low && v <= d.High }

// Round returns v with the decimals that a recording keeps.
func (d Definition) Round(v float64) float64 {
	p := pow10[d.Decimals]
	return math.Round(v*p) / p
}

// Definitions returns all channels, in the order in which a recording asks for them and writes them.
func Definitions() []Definition { return slices.Clone(definitions) }

// Define returns the definition of a canonical name.
func Define(name string) (Definition, bool) {
	for i := range definitions {
		if definitions[i].Name == name {
			return definitions[i], true
		}
	}
	return Definition{}, false
}

// IsRoadSpeed tells whether a channel of that name is a speed of the car: of its dial, of a receiver, or of the wheels
// that the engine does not drive.
func IsRoadSpeed(name string) bool {
	return name == VehicleSpeed || name == GPSSpeed || name == UndrivenSpeed
}

// Names returns the names of the channels that keep says yes to, in the order of Definitions.
func Names(keep func(Definition) bool) []string {
	var names []string
	for _, d := range definitions {
		if keep(d) {
			names = append(names, d.Name)
		}
	}
	return names
}
