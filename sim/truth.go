package sim

import "slices"

// Truth is what really happened, on one fine clock: all slices have equal length.
type Truth struct {
	Step float64   // s between samples
	T    []float64 // s; the first sample stands at one step

	EngineRPM      []float64
	ReportedRPM    []float64 // as the control unit filters and averages it
	GroundKmh      []float64
	WheelKmh       []float64 // tread speed of the driven wheels
	Gear           []int8    // gear that is in; 0 is neutral
	Clutch         []ClutchState
	Engagement     []float64 // 1 foot off the clutch pedal, 0 clutch fully open; of a gearbox that shifts itself, how far its clutch is closed
	ClutchTorqueNm []float64
	SlipPct        []float64 // (engine speed - locked engine speed) / engine speed in gear; 0 in neutral
	Throttle       []float64 // %, as opened by the control unit
	Pedal          []float64 // %, accelerator
	BrakeN         []float64 // N, force of the brakes; no channel shows it
	LoadPct        []float64
	IntakeKPa      []float64
	AirFlowGS      []float64
	Coolant        []float64 // C
	Oil            []float64 // C
	ClutchTemp     []float64 // C, friction surface
	Grade          []float64 // rise per metre in the direction of travel
	Bend           []float64 // 1/m, curvature of the path, positive to the left; nil on a road without bends
	EngineTorque   []float64 // N m at the crankshaft, net of drag, before the inertia takes its share

	Events      []SlipEvent  // slip with the foot off the clutch
	Engagements []Engagement // launches and shifts: slip that is meant
	Labels      []Label

	Inertia    float64 // kg m^2 of the car
	DragFactor float64 // of this drive: session and nothing else

	car Car
}

// ClutchState is what the friction contact does.
type ClutchState uint8

// The states of the clutch.
const (
	Open     ClutchState = iota // carries nothing
	Slipping                    // carries its friction
	Stuck                       // carries what is asked of it
)

// SlipEvent is slip of the clutch with the foot off its pedal, from where slip rises through 1 % to where it falls
// back through 1 %.
type SlipEvent struct {
	StartS, EndS     float64
	Gear             int
	PeakPct, MeanPct float64
	PeakRPM          float64 // largest difference of speeds
	OnsetNm          float64 // clutch torque at which it broke away
	EnergyJ          float64
	FromEngagement   bool // the clutch had not locked since the pedal was last down
	Injected         bool // made by InjectSlip
}

// Engagement is one meeting of engine and gearbox by way of the pedal.
type Engagement struct {
	StartS, EndS float64
	Kind         string // launch | upshift | downshift
	Gear         int
	EnergyJ      float64
}

// Label tells which action ran when.
type Label struct {
	Kind         string
	Gear         int // 0 when the action has none
	StartS, EndS float64
	DragFactor   float64 // of this action, session included
}

// Car returns the car that was driven.
func (tr *Truth) Car() Car { return tr.car }

// Len returns the number of samples.
func (tr *Truth) Len() int { return len(tr.T) }

// Duration returns the length of the drive in s.
func (tr *Truth) Duration() float64 { return float64(len(tr.T)) * tr.Step }

// reserve makes room for n more samples at once: growing two dozen slices a little at a time costs a fifth of a drive.
func (tr *Truth) reserve(n int) {
	for _, s := range []*[]float64{&tr.T, &tr.EngineRPM, &tr.ReportedRPM, &tr.GroundKmh, &tr.WheelKmh, &tr.Engagement, &tr.ClutchTorqueNm,
		&tr.SlipPct, &tr.Throttle, &tr.Pedal, &tr.BrakeN, &tr.LoadPct, &tr.IntakeKPa, &tr.AirFlowGS, &tr.Coolant, &tr.Oil, &tr.ClutchTemp,
		&tr.Grade, &tr.EngineTorque} {
		*s = slices.Grow(*s, n)
	}
	tr.Gear = slices.Grow(tr.Gear, n)
	tr.Clutch = slices.Grow(tr.Clutch, n)
}

// At returns the index of the sample at or just before t s, within the drive.
func (tr *Truth) At(t float64) int {
	i := int(t/tr.Step+1e-9) - 1
	return max(0, min(i, len(tr.T)-1))
}

// Labelled returns the labels of one kind.
func (tr *Truth) Labelled(kind string) []Label {
	var out []Label
	for _, l := range tr.Labels {
		if l.Kind == kind {
			out = append(out, l)
		}
	}
	return out
}
