package plan

// Session is how many runs of each kind are asked for in one drive, and what is spared the clutch and the engine.
type Session struct {
	CoolantC       float64 // warm from here on
	IdleS          float64 // s of idling before the free revs
	FreeRevs       int
	FirstGearPulls int // in one gear
	OtherGearPulls int // in another gear
	InGear, Coasts int // half of each one way, half the other

	InARow   int     // free revs before a rest
	RestS    float64 // s
	CoolingS float64 // s after the first sure slip
	HeatJ    float64 // J in all the slip of the recording, then no more pulls
}

// Usual returns the numbers that the analysis is content with. Three free revs give a ratio, five are
// recommended, and one is lost to a slip of the foot; three pulls, the last one hot, are what "holds" rests on.
// Warmth, rest, cooling and heat are common practice, no source: the heat is that of some five ordinary starts.
func Usual() Session {
	return Session{
		CoolantC: 80, IdleS: 20, FreeRevs: 6, FirstGearPulls: 3, OtherGearPulls: 2, InGear: 4, Coasts: 4,
		InARow: 6, RestS: 120, CoolingS: 180, HeatJ: 100e3,
	}
}

// mostPerSession is how many free revs a session has at most: beyond, another session tells more than another rev.
const mostPerSession = 12
