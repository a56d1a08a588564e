package practice

import "fmt"

// Reason is the stable word for why a run was not used, or why a set of logs cannot tell all that was asked of it.
type Reason string

// The reasons that concern one run.
const (
	VehicleMoving     Reason = "vehicle_moving"
	PeakTooLow        Reason = "peak_too_low"
	RoseAgain         Reason = "rose_again"
	CutShort          Reason = "cut_short"
	TooFewSamples     Reason = "too_few_samples"
	SpanTooSmall      Reason = "span_too_small"
	Gap               Reason = "gap"
	RateImplausible   Reason = "rate_implausible"
	ThrottleOpen      Reason = "throttle_open"
	ThrottleHeldByCar Reason = "throttle_held_by_car"
	KeptFuelling      Reason = "kept_fuelling"
	DiffersFromOthers Reason = "differs_from_others"
	FootMixed         Reason = "foot_on_clutch_mixed"
	WholeSeconds      Reason = "whole_second_stamps"
	ThrottleByWire    Reason = "throttle_by_wire"
	PictureOnly       Reason = "picture_only"
	Braked            Reason = "braked"
	Pushed            Reason = "pushed"
	TooShort          Reason = "too_short"
	PullSpanTooSmall  Reason = "pull_span_too_small"
	PullTooShort      Reason = "pull_too_short"
	NotRepeated       Reason = "not_repeated"
	TorqueByGear      Reason = "torque_differs_between_gears"
)

// The reasons that concern a set of logs, or both sides.
const (
	SoftLimitMet       Reason = "soft_limit"
	EngineStopped      Reason = "engine_stopped"
	FootDiffers        Reason = "foot_on_clutch_differs"
	DifferentVehicle   Reason = "different_vehicle"
	CalibrationDiffers Reason = "calibration_differs"
	StillLearning      Reason = "still_learning"
	NoBefore           Reason = "no_before"
	NoAfter            Reason = "no_after"
)

// Saying is the words for a reason: What happened, a format for the values of the run, and what the driver does Next.
type Saying struct {
	Reason  Reason
	Entry   Key    // what stands behind it in the table; "" where only this run was at fault
	What    string // verbs of package fmt stand for the values
	Next    string // "" where it is the entry's
	Example []any  // values as a run has them, for the documentation
}

// saying returns the words of a reason; those of the bare word for one that has none.
func (r Reason) saying() Saying {
	for _, list := range [][]Saying{ofRuns, ofSets} {
		for _, s := range list {
			if s.Reason == r {
				return s
			}
		}
	}
	return Saying{Reason: r, What: string(r)}
}

// Fact says what happened, with the values of the run.
func (r Reason) Fact(values ...any) string { return fmt.Sprintf(r.saying().What, values...) }

// Next is what the driver does about it.
func (r Reason) Next() string {
	s := r.saying()
	if s.Next == "" {
		return Find(s.Entry).Next
	}
	return s.Next
}

// Say says what happened and what to do.
func (r Reason) Say(values ...any) string { return r.Fact(values...) + ": " + r.Next() }

var ofRuns = []Saying{
	{VehicleMoving, "", "the car was moving (%.0f km/h)", "stand still in neutral for free revs", []any{12.0}},
	{PeakTooLow, "", "revved only to %.0f rpm", "rev to about 4000 rpm, hold it for a moment, then let go at once", []any{2600.0}},
	{RoseAgain, "", "engine speed rose again at %.0f rpm", "let it fall to idle without touching the throttle", []any{2300.0}},
	{CutShort, "", "the record of the fall stops at %.0f rpm", "let it fall to idle before anything else, and let the recording run on", []any{2300.0}},
	{TooFewSamples, SlowLink, "only %d samples in the fall", "", []any{2}},
	{SpanTooSmall, "", "too little of the fall is left (%.0f to %.0f rpm)", "rev higher and let it fall to idle", []any{2100.0, 1550.0}},
	{Gap, "", "a gap of %.1f s in the record of the fall", "check the adapter, close other apps on the link, and repeat", []any{1.4}},
	{RateImplausible, "", "engine speed fell at %.0f rpm/s, which no free engine does", "put the lever in neutral and take the foot off the throttle at once", []any{150.0}},
	{ThrottleOpen, "", "the throttle was still %.0f %% above closed in the fall", "lift the foot off at once and fully, then let it fall to idle", []any{6.0}},
	{ThrottleHeldByCar, RevHang, "you lifted, the car kept the throttle open for %.1f s", "", []any{0.8}},
	{KeptFuelling, "", "the engine kept fuelling in this fall and not in others", "repeat with the engine fully warm", nil},
	{DiffersFromOthers, "", "fell %.0f %% %s than the other runs (throttle not shut, clutch, or a consumer switched on)",
		"switch consumers off and repeat it like the others", []any{12.0, "slower"}},
	{NotRepeated, ForeignTorque, "the falls differ by %.0f %% from one to the next, so something beside the engine's own drag moves it (anti-lag, a mild hybrid, a foot on the accelerator)", "",
		[]any{30.0}},
	{FootMixed, FootOnClutch, "the foot was %s the clutch in this run and not in the others", "", []any{"on"}},
	{WholeSeconds, "", "time stamps are whole seconds and there are only %.1f samples a second",
		"use a recorder that stamps finer, or one that samples at least four times a second", []any{1.0}},
	{ThrottleByWire, Rises, "the rise shows what the control unit did with the throttle; it is a picture beside the falls", "", nil},
	{PictureOnly, Rises, "the rise shows how the throttle was opened; it is a picture beside the falls", "", nil},
	{Braked, FootBrake, "slowed by %.1f m/s², more than rolling does", "", []any{1.9}},
	{Pushed, "", "slowed by only %.1f m/s², less than the others: downhill, or a foot on the accelerator", "level road, foot right off", []any{0.3}},
	{TooShort, "", "too short (%.1f s)", "let it run longer with a steady foot", []any{3.2}},
	{PullSpanTooSmall, "", "the pull covers only %.0f to %.0f rpm", "start below the torque peak and keep the foot down to near the limit", []any{2600.0, 3100.0}},
	{PullTooShort, "", "a pull of %.1f s has too few samples", "record engine and road speed only, or use a higher gear", []any{1.3}},
	{TorqueByGear, TorqueDiffers, "at equal engine speed the engine gave %.0f %% %s than in gear %d", "", []any{9.0, "less", 3}},
}

var ofSets = []Saying{
	{SoftLimitMet, SoftLimit, "the revs all end near %.0f rpm, where the car seems to hold the standing engine; the window follows what was reached", "", []any{3950.0}},
	{EngineStopped, StartStop, "the engine stopped after a free rev", "", nil},
	{FootDiffers, FootOnClutch, "the foot was on the clutch on one side and off on the other, so disc, input shaft and gearbox drag are in one and not in the other",
		"repeat the free revs of one side with the foot as on the other", nil},
	{DifferentVehicle, OtherCar, "the logs come from different cars (VIN %s)", "", []any{"A..., B..."}},
	{CalibrationDiffers, OtherTune, "the control unit's calibration changed between the logs (%s), which moves the closed-throttle drag",
		"swing the old and the new part on a pendulum, or record off-throttle in gear and neutral coasts on both sides, which do not depend on the drag", []any{"A, B"}},
	{StillLearning, OtherTune, "the %s side was driven only %.0f km after a reset of the control unit, which is still learning",
		"drive 50 km and repeat the free revs", []any{"after", 12.0}},
	{NoBefore, OneSide, "there is no log from before the job, so a drive can no longer show a change",
		"swing the old parts beside the new ones on a pendulum, which still could", nil},
	{NoAfter, OneSide, "there is no log from after the job, so a change is not known yet", "drive the same runs after the job", nil},
}
