// Package practice is the one table of what cars, roads and workshops do to the measurement: how it is seen,
// what it does, and what this project does about it. Refusals, report, guided recording and docs/practice.md
// take their words from here.
//
// The facts are common practice of people who fit clutches and test cars, no source, unless an entry names one.
package practice

// Key names an entry; it is stable.
type Key string

// The entries.
const (
	SoftLimit        Key = "soft_limit"
	RevHang          Key = "rev_hang"
	RollingRevDown   Key = "rolling_rev_down"
	FootOnClutch     Key = "foot_on_clutch"
	StartStop        Key = "start_stop"
	ThrottleSignal   Key = "throttle_signal"
	SpeedResolution  Key = "engine_speed_resolution"
	SlowLink         Key = "slow_link"
	TorqueDiffers    Key = "torque_differs_between_gears"
	FlatShift        Key = "full_throttle_shift"
	RevMatch         Key = "rev_match"
	ForeignTorque    Key = "foreign_torque"
	NotManual        Key = "not_manual"
	DualMassFlywheel Key = "dual_mass_flywheel"
	FourWheelDrive   Key = "four_wheel_drive"
	SpeedSource      Key = "speed_source"
	TorqueChannel    Key = "torque_channel"
	Rollers          Key = "rollers"
	PaperMass        Key = "paper_mass"
	SessionSpread    Key = "session_spread"
	BeddingIn        Key = "bedding_in"
	ClutchHeat       Key = "clutch_heat"
	OtherCar         Key = "other_car"
	OtherTune        Key = "other_tune"
	OneSide          Key = "one_side"
	WeightAlone      Key = "weight_alone"
	Rises            Key = "rises"
	FootBrake        Key = "foot_brake"
)

// Entry is one thing that happens. Every field is a sentence, or a clause that stands after a colon, for a driver.
type Entry struct {
	Key   Key
	What  string // what it is
	Shows string // how it is seen
	Does  string // what it does to the measurement
	WeDo  string // what the program does
	Next  string // what the driver or the workshop can do
}

// Find returns the entry of a key; the zero Entry for a key that is not in the table.
func Find(key Key) Entry {
	for _, e := range table {
		if e.Key == key {
			return e
		}
	}
	return Entry{}
}

var table = []Entry{
	{SoftLimit, "soft limit at standstill (many cars with a throttle by wire, 3500 to 4500 rpm)",
		"free revs end at the same engine speed below the limit",
		"engine speeds above it cannot be reached",
		"the window follows what was reached; before and after may use different windows",
		"lift as soon as the limit is reached; rev before and after to the same speed"},
	{RevHang, "rev hang: you lifted, the car kept the throttle open",
		"accelerator released while throttle or manifold pressure is still up, and a slow first second",
		"the fall starts too slowly and biases the ratio",
		"the fall is cut by what the car did, not by what the foot did",
		"rev some hundred rpm higher, so that the part below is clean"},
	{Rises, "rise of a free rev", "engine speed before the fall",
		"it shows how the throttle was opened, by the control unit where it goes by wire",
		"a picture beside the falls, never used",
		"nothing to do"},
	{RollingRevDown, "rolling rev-down (car moving, neutral, foot off the clutch)",
		"road speed above zero while the engine falls",
		"some cars cut the fuel only when they move, so it falls differently from one at standstill",
		"a class of its own, and a good one; never mixed with those at standstill across the sides",
		"do all free revs at standstill, or all of them rolling, before and after"},
	{FootOnClutch, "foot on or off the clutch in the free revs",
		"only a clutch switch tells, which few logs carry",
		"disc, gearbox input shaft and gearbox drag are in or out: several per cent",
		"it is asked and recorded for each set; mixed sets are refused; a set with the foot on the clutch on both sides " +
			"is a good cross-check",
		"keep the foot off the clutch in every free rev"},
	{StartStop, "start-stop system", "the engine stops in neutral with the foot off the clutch", "it ends the test",
		"said when the engine stands after a free rev", "switch it off before you begin"},
	{ThrottleSignal, "throttle signal", "closed reads 10 to 18 %, and on a diesel it means nothing",
		"a fixed threshold takes a closed throttle for an open one",
		"the closed value is learnt from the log; accelerator, manifold pressure, fuel-system status and demanded " +
			"torque are used where logged",
		"state [engine] fuel, and record the accelerator or the throttle"},
	{SpeedResolution, "coarse engine speed", "old control units step by 10 to 40 rpm", "the scatter is no longer " +
		"that of the clock",
		"the step is learnt from the log", "nothing to do"},
	{SlowLink, "slow link", "a fall from 3500 to 1500 rpm takes 1.4 s, three samples when two values are polled",
		"too few samples for a run",
		"the guided recording asks for engine speed alone in free revs (road speed now and then), for engine and road " +
			"speed in turn in pulls",
		"record engine speed alone for free revs, or rev higher"},
	{FootBrake, "foot brake", "no diagnostic channel shows it; the car slows faster than rolling, air and engine can " +
		"make it",
		"it passes for drag, and the inertia comes out too high",
		"the braked part is cut off, and runs that were braked throughout are refused",
		"keep off the brake from start to end"},
	{TorqueDiffers, "traction or stability control, torque limit in low gears, boost lag",
		"torque differs between gears at equal engine speed; a braked wheel may carry the speed sensor",
		"the rule of equal torque in each gear is broken",
		"a gear is used only if manifold pressure or torque agrees within 3 %; full load in first gear is never asked for",
		"pull from lower down, so that the boost is there, or use the next higher gears"},
	{FlatShift, "full-throttle shifts without a lift", "no lift at a gear change", "the rule of no gear change " +
		"without a lift is broken",
		"recognised; that rule is then not used", "nothing to do"},
	{RevMatch, "automatic rev-match", "blips at downshifts", "they look like the clutch being let in", "discarded",
		"nothing to do"},
	{ForeignTorque, "anti-lag, launch control, mild hybrid", "engine speed is moved by another torque than the " +
		"engine's own: falls of one sitting differ by far more than drag does",
		"no verdict on inertia is possible", "while it is on, inertia is refused", "switch it off, and repeat the free " +
			"revs"},
	{NotManual, "converter automatic, dual-clutch gearbox or CVT", "small slip by design, no clear gearing",
		"it would be called a slipping clutch", "only a manual gearbox is judged for slip", "state [gearbox] type"},
	{DualMassFlywheel, "dual-mass flywheel", "the engine shuffles when the accelerator is tipped in",
		"nothing in a steady pull; the first moment looks like slip", "the moment of tip-in is left out",
		"press the accelerator smoothly"},
	{FourWheelDrive, "four-wheel drive on demand", "no wheel is undriven", "wheelspin cannot be told from slip by " +
		"the speeds",
		"said in the result", "drive on a dry road"},
	{SpeedSource, "source of the road speed", "newer cars mostly use wheel sensors, older ones the gearbox",
		"tyre creep is in the gearing or not", "speed_source is unknown by default and tested from the log",
		"state speed_source where it is known"},
	{TorqueChannel, "torque channel of a changed tune", "clipped or mis-scaled", "a wrong torque",
		"torque from acceleration stands, both are shown, a warning comes above 10 %", "weigh the car, so that the " +
			"acceleration tells the torque well"},
	{Rollers, "rolling road", "the car stands: mass, grade and air do not act", "torque from acceleration is wrong",
		"slip is judged, torque is left out or taken from the rollers' own log; a slipping strap or tyre looks like " +
			"clutch slip",
		"state site = \"rollers\""},
	{PaperMass, "mass from the papers", "differs from scales by 4 %", "torque and absolute inertia carry it",
		"4 % is its standard deviation, 1.5 % when weighed", "weigh the car as tested and state weighed = true"},
	{SessionSpread, "drag differs from session to session (gearbox oil, battery charging, fan, lights, air conditioning)",
		"runs of one session agree with each other better than sessions do",
		"with one session a side a change below about 15 % cannot be told",
		"4 % of spread between sessions is allowed for, 2 % with the checklist (a diesel 5.3 and 2.8 %), less where " +
			"sessions show it",
		"switch consumers off, charge the battery, drive 20 minutes, match the oil temperature; drive two sessions a " +
			"side from different starts"},
	{BeddingIn, "new clutch not bedded in", "km_since_fitted is below bed_in_km",
		"full load can spoil the lining, and slip before then proves nothing",
		"not yet: free revs are judged the same day, full-load pulls are not",
		"free revs the same day, full-load pulls after the distance that the clutch's maker states"},
	{ClutchHeat, "heat in the clutch", "each slip under load leaves heat in the lining", "testing can ruin the clutch",
		"the guided recording says lift, and then offers no more pulls",
		"lift at the first sure slip; one short confirmation after cooling; then no more pulls"},
	{OtherCar, "another car", "the VIN of the sides differs", "nothing can be compared", "an error",
		"compare logs of one car"},
	{OtherTune, "another calibration, or adaptations reset less than about 50 km ago",
		"calibration identification or verification number differ, or few kilometres since the codes were cleared",
		"the closed-throttle drag may differ for other reasons than the part",
		"the ratio of free revs is inconclusive unless a pendulum or off-throttle runs in gear carry it",
		"drive 50 km after a reset; measure the part on the bench where the calibration had to change"},
	{OneSide, "recordings of one side only", "no before, or no after", "a change can no longer be shown",
		"what one side tells is told: does it hold, under which torque; what its inertia is",
		"record before the work starts, and the same runs after it"},
	{WeightAlone, "weight without a radius", "a part's mass is given and no dimension", "the inertia can be anything " +
		"from a hub to a rim",
		"a range is given, never a number", "swing the part as a pendulum or measure its rings"},
}
