package practice

// Principle is a rule by which verdicts are given.
type Principle struct{ Title, Text string }

// Principles returns the rules of judging, in the order of the documentation.
func Principles() []Principle { return append([]Principle(nil), principles...) }

var principles = []Principle{
	{"The session is the error budget",
		"Gearbox oil changed or cold, a battery recharging, a radiator fan, lights or air conditioning each move the drag by several per cent. A session's drag is given a standard deviation of 4 %, 2 % when the checklist is recorded, and less only where the session measures its own drag or several sessions a side say so. With one session a side and no such evidence a change below about 15 % is inconclusive. Drift over the runs of a session is tested and shown."},
	{"Bedding-in is a gate",
		"A new clutch must not see full load for some hundreds of kilometres; its maker's figure stands. Slip before that proves nothing. Free revs can be driven the same day, so the after side may have two sittings."},
	{"Testing must not ruin the clutch",
		"At the first sure slip the guide says lift. One short confirmation after cooling; the total heat is capped, then no more pulls are offered."},
	{"What \"holds\" means",
		"No slip was seen up to the stated torque in the stated number of pulls, and anything above the stated slip would have shown. Each torque is stated with the slip that could be seen over the same stretch. A single good pull is reported as what it is; three through the torque peak, the last one hot, are asked for."},
	{"One side is the usual case",
		"Before alone is a diagnosis, after alone tells whether it holds; that a change can no longer be shown is said plainly."},
	{"The best evidence of inertia is on the bench",
		"Old and new parts swung on a pendulum while the car is on the lift give the change to 2 or 3 %, and the equivalent mass follows from the gearing. Everything that was swapped is listed for each side: flywheel, cover, disc, bolts. Weight alone is never turned into inertia."},
	{"Same car, same tune",
		"VIN, calibration identification and verification number, fault lamp and codes, warm-ups and distance since codes were cleared are compared. Another VIN is an error; another calibration, or less than about 50 km since a reset, makes the ratio of free revs inconclusive."},
	{"A protocol that stands",
		"Number of runs, margin, window and exclusions are fixed in the job file before the after drive; two sessions a side on different starts; every session is listed, used or not; the SHA-256 of each recording is there to be signed by both sides before the work starts. That is \"unchanged since signed\", not tamper-proof."},
}
