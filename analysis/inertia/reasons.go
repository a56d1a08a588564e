package inertia

import "fmt"

// Reason is the stable word for why a run was not used.
type Reason string

// The reasons.
const (
	WhyMoving       Reason = "vehicle_moving"
	WhyPeakLow      Reason = "peak_too_low"
	WhyRoseAgain    Reason = "rose_again"
	WhyCutShort     Reason = "cut_short"
	WhyFewSamples   Reason = "too_few_samples"
	WhySpan         Reason = "span_too_small"
	WhyGap          Reason = "gap"
	WhyRate         Reason = "rate_implausible"
	WhyThrottle     Reason = "throttle_open"
	WhyRevHang      Reason = "throttle_held_by_car"
	WhyFuelled      Reason = "kept_fuelling"
	WhyOutlier      Reason = "differs_from_others"
	WhyFootMixed    Reason = "foot_on_clutch_mixed"
	WhyWholeSeconds Reason = "whole_second_stamps"
	WhyDriveByWire  Reason = "throttle_by_wire"
	WhyPicture      Reason = "picture_only"
	WhyBrake        Reason = "braked"
	WhyShort        Reason = "too_short"
	WhyLifted       Reason = "lifted"
	WhyPullSpan     Reason = "pull_span_too_small"
	WhyPullShort    Reason = "pull_too_short"
)

// Advice is what a driver is told of a reason: what happened (a format for the values of the run), and what to do.
type Advice struct{ What, Do string }

// Reasons is the one table from which results, report and documentation take their words.
var Reasons = map[Reason]Advice{
	WhyMoving:       {"the car was moving (%.0f km/h)", "stand still in neutral for free revs"},
	WhyPeakLow:      {"revved only to %.0f rpm", "rev to about 4000 rpm, hold it for a moment, then let go at once"},
	WhyRoseAgain:    {"engine speed rose again at %.0f rpm", "let it fall to idle without touching the throttle"},
	WhyCutShort:     {"the record of the fall stops at %.0f rpm", "let it fall to idle before anything else, and let the recording run on"},
	WhyFewSamples:   {"only %d samples in the fall", "record engine speed alone for free revs, or rev higher"},
	WhySpan:         {"too little of the fall is left (%.0f to %.0f rpm)", "rev higher and let it fall to idle"},
	WhyGap:          {"a gap of %.1f s in the record of the fall", "check the adapter, close other apps on the link, and repeat"},
	WhyRate:         {"engine speed fell at %.0f rpm/s, which no free engine does", "put the lever in neutral and take the foot off the throttle at once"},
	WhyThrottle:     {"the throttle was still %.0f %% above closed in the fall", "lift the foot off at once and fully, then let it fall to idle"},
	WhyRevHang:      {"you lifted, the car kept the throttle open for %.1f s", "rev some hundred rpm higher, so that the part below is clean"},
	WhyFuelled:      {"the engine kept fuelling in this fall and not in others", "repeat with the engine fully warm"},
	WhyOutlier:      {"fell %.0f %% %s than the other runs (throttle not shut, clutch, or a consumer switched on)", "switch consumers off and repeat it like the others"},
	WhyFootMixed:    {"the foot was %s the clutch in this run and not in the others", "keep the foot off the clutch in every free rev"},
	WhyWholeSeconds: {"time stamps are whole seconds and there are only %.1f samples a second", "use a recorder that stamps finer, or one that samples at least four times a second"},
	WhyDriveByWire:  {"the rise shows what the throttle did, which goes by wire", "nothing to do: rises are pictures only unless the throttle is on a cable"},
	WhyPicture:      {"a rise depends on how the throttle was opened", "nothing to do: it is a picture beside the falls"},
	WhyBrake:        {"slowed by %.1f m/s², more than rolling does", "keep off the brake from start to end"},
	WhyPullSpan:     {"the pull covers only %.0f to %.0f rpm", "start below the torque peak and keep the foot down to near the limit"},
	WhyPullShort:    {"a pull of %.1f s has too few samples", "record engine and road speed only, or use a higher gear"},
	WhyLifted:       {"engine speed fell back at %.0f rpm within the pull", "keep the foot down until the end of the pull"},
	WhyShort:        {"too short (%.1f s)", "let it run longer with a steady foot"},
}

// say returns the sentence for a reason with the values of the run.
func (r Reason) say(values ...any) string {
	a := Reasons[r]
	return fmt.Sprintf(a.What, values...) + ": " + a.Do
}
