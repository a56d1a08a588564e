package practice

// Activity is something that people do for a measurement and that can hurt them.
type Activity string

// The activities.
const (
	Driving    Activity = "driving"    // any recording on the road
	Pulling    Activity = "pulling"    // full load
	Coasting   Activity = "coasting"   // neutral coast and off-throttle in gear
	FreeRevs   Activity = "free_revs"  // at standstill
	OnRollers  Activity = "rollers"    // rolling road
	Fitting    Activity = "fitting"    // clutch and flywheel work
	Swinging   Activity = "swinging"   // a part on a pendulum
	Publishing Activity = "publishing" // handing a report on
	Reading    Activity = "reading"    // drawing conclusions from a result
	Recording  Activity = "recording"  // an adapter on the car's diagnostic socket
	Modifying  Activity = "modifying"  // a lighter flywheel or a stronger clutch
)

var cautions = map[Activity][]string{
	Driving: {
		"The law of the place and its speed limits hold for a test run too. What cannot be driven lawfully belongs on a " +
			"closed course or a rolling road.",
		"A passenger works the recorder. The driver watches the road, never the screen.",
		"Dry, straight, empty road; tyres, brakes and seat belts in order; nothing loose in the car; nobody takes part " +
			"against his will.",
	},
	Pulling: {
		"At the first slip lift at once: slip under load heats the clutch within seconds. Let it cool before one short " +
			"confirmation, and stop when it smells.",
		"No full load on a clutch that is not bedded in; the distance that its maker states stands.",
		"Stop at once on any warning lamp, noise or vibration.",
	},
	Coasting: {
		"Rolling in neutral is unlawful on public roads in places; use a closed course there.",
		"Keep the engine running: without it steering and brakes lose their assistance, and the steering may lock.",
	},
	FreeRevs: {
		"Parking brake on, wheels chocked, lever in neutral. Nobody in front of or behind the car, at the open engine " +
			"bay, or in line with the bellhousing.",
		"Engine warm, and well below the limit of the slowest part: engine, flywheel, clutch cover. A flywheel that " +
			"bursts goes through the floor.",
		"At most six in a row, then two minutes at idle. Indoors only with exhaust extraction: exhaust gas kills unnoticed.",
	},
	OnRollers: {
		"Trained operator, straps checked, fan and exhaust extraction on, nobody in line with the tyres or the straps.",
	},
	Fitting: {
		"Clutch dust is harmful, and old linings may hold asbestos: no compressed air, no dry brush; damp or extracted, " +
			"with a fit mask, disposed of by local rules.",
		"Gearbox, flywheel and cover are heavy and the car stands open underneath: rated stands and lifting gear, " +
			"battery disconnected, the maker's torques and new bolts.",
		"Where local law asks for a licensed workshop, have it done there.",
	},
	Swinging: {
		"Every thread carries the whole weight several times over; hang the part a hand's breadth above something soft, " +
			"feet and fingers out from under it, and swing it by a few degrees only.",
	},
	Modifying: {
		"Fit only a flywheel that its maker rates above the engine's highest speed. One that was cut, drilled or welded " +
			"without that can burst.",
		"A lighter flywheel or another clutch may need approval, entry in the papers, or the insurer's consent; local " +
			"law decides.",
	},
	Reading: {
		"This is a measurement of what was recorded, not an approval of the car and no substitute for an inspection by " +
			"a licensed workshop.",
	},
	Publishing: {
		"The report shows road speeds and may show the VIN: think before handing it on. GPS positions are never stored.",
	},
	Recording: {
		"Fix adapter and cable so that they cannot reach the pedals, and do not leave the adapter plugged in unattended.",
	},
}

// Cautions returns the cautions of these activities in the order asked for, each once. An activity that is not
// known has none.
func Cautions(activities ...Activity) []string {
	var out []string
	seen := map[string]bool{}
	for _, a := range activities {
		for _, c := range cautions[a] {
			if !seen[c] {
				seen[c] = true
				out = append(out, c)
			}
		}
	}
	return out
}

// Checklist is what makes two sessions comparable; a job states `checklist = true` when all of it was done.
func Checklist() []string {
	return []string{
		"lights, fan, heated screens, air conditioning and chargers off",
		"battery charged",
		"20 minutes driven, so that engine and gearbox oil are warm",
		"the same oil temperature on both sides, read from the log where it is there",
		"the same fuel level, load, tyres and pressures on both sides",
		"start-stop system off",
	}
}
